import type { SplitPlotPrior } from '../split-plot-posterior.ts';

/** What a prior adds, and where it came from. */
export interface CarriedPrior {
  readonly prior: SplitPlotPrior;
  /** The study it was carried from. */
  readonly from: string;
}
