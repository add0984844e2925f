import type { Point } from '../../factor/coding.ts';
import type { Factor } from '../../factor/factor.ts';
import type { Powers } from '../../term/term.ts';
import type { LinearConstraint } from '../design.ts';

/**
 * What a search makes small or large. With M = XᵀV⁻¹X (plus prior precision) and V in units of the
 * residual variance: `D` makes det M large (a small joint confidence region), `A` makes the sum of
 * the coefficients' variances small, `I` makes the prediction variance averaged over the region small.
 * @source Atkinson & Donev (1992), Optimum Experimental Designs, chapters on criteria (from memory)
 */
export type OptimalCriterion = 'D' | 'A' | 'I';

/**
 * How the new runs hang together.
 *
 * `runs`: every run is set anew. `blocks` gives runs per block; they must add up to `runs`.
 *
 * `split-plot`: `wholePlots` settings of the hard factors; in each, `subPlots` settings of the
 * semi-hard factors (absent: none, and semi-hard factors move from cell to cell); in each of those,
 * `cells` runs. `varianceRatio` is σ²(whole plot) / σ²(cell), `subVarianceRatio` the same for
 * sub-whole plots. `replicates` of the whole plots repeat the hard settings of another one, which
 * gives that many degrees of freedom of pure error between whole plots. `blocks` gives whole
 * plots per block. `minimumWholePlotDf` (default 1) is refused when it cannot be met.
 */
export type RunStructure =
  | { readonly kind: 'runs'; readonly runs: number; readonly blocks?: readonly number[] }
  | {
      readonly kind: 'split-plot';
      readonly wholePlots: number;
      readonly subPlots?: number;
      readonly cells: number;
      readonly varianceRatio: number;
      readonly subVarianceRatio?: number;
      readonly replicates?: number;
      readonly blocks?: readonly number[];
      readonly minimumWholePlotDf?: number;
    };

/** A stretch of a numeric factor in coded units, both ends included. */
export interface CodedStretch {
  readonly from: number;
  readonly to: number;
}

/**
 * Settings that must not meet: a point is forbidden when it matches every entry. A level's name, a
 * coded number, or a stretch of coded numbers.
 */
export type ForbiddenCombination = Readonly<Record<string, number | string | CodedStretch>>;

/** A run that stays as it is: already done, or wanted whatever else is chosen. */
export interface IncludedRun {
  readonly coded: Point;
  readonly block?: number;
  readonly wholePlot?: number | null;
  readonly subWholePlot?: number | null;
}

/**
 * Everything a search depends on; plain data that survives a structured clone, so starts can be
 * shared out among workers.
 */
export interface OptimalProblem {
  readonly factors: readonly Factor[];
  /** Terms that must be estimable, the intercept among them. */
  readonly terms: readonly Powers[];
  /** Terms to estimate if the runs allow; each gets a prior of mean 0. */
  readonly ifPossible?: readonly Powers[];
  /** 1/τ² of each if-possible term after scaling to a range of 1; default 1. */
  readonly priorPrecision?: number;
  readonly criterion: OptimalCriterion;
  /** The new runs; `included` runs come on top. */
  readonly structure: RunStructure;
  /** Coded levels of numeric factors that take only these; others are continuous on [−1, 1]. */
  readonly levels?: Readonly<Record<string, readonly number[]>>;
  readonly constraints?: readonly LinearConstraint[];
  readonly forbidden?: readonly ForbiddenCombination[];
  readonly included?: readonly IncludedRun[];
  readonly seed: number;
  /** Equally spaced levels tried first for a continuous factor; odd, default 5. */
  readonly gridLevels?: number;
  /** Last step of the refinement of continuous levels, coded; default 0.01; 0 turns it off. */
  readonly resolution?: number;
}

/** Where one start ended; plain data. */
export interface StartResult {
  readonly startIndex: number;
  /** Coded settings in design order, included runs first. */
  readonly points: readonly Point[];
  /** D: ln det M; A: Σ Var(b)/σ²; I: average Var(ŷ)/σ². */
  readonly criterion: number;
  /** Larger is better whatever the criterion; −Infinity when the start stayed singular. */
  readonly score: number;
  readonly passes: number;
}
