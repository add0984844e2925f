import { type RatioPrior, WEAK_RATIO_PRIOR } from '../ratio-prior.ts';
import type { SplitPlotPrior } from '../split-plot-posterior.ts';

/** What an earlier study says of the variances, and where it came from. */
export interface CarriedPrior {
  /** One ratio for each of `strata`. */
  readonly ratios: readonly RatioPrior[];
  /** Names of the plots that differed by these ratios, such as "zone setting". */
  readonly strata: readonly string[];
  /** The study it was carried from. */
  readonly from: string;
}

/**
 * The prior for a fit with plots of these names: what was carried for plots of that name, and the weak
 * one for plots that the earlier study had none of. Undefined when nothing fits.
 */
export function priorFor(
  carried: CarriedPrior | undefined,
  names: readonly string[],
): SplitPlotPrior | undefined {
  if (!carried || !names.some((name) => carried.strata.includes(name))) return undefined;
  return {
    ratios: names.map((name) => carried.ratios[carried.strata.indexOf(name)] ?? WEAK_RATIO_PRIOR),
  };
}
