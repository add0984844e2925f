import type { Dense } from '../linear/dense.ts';
import type { RemlCriterion, RemlState } from './reml.ts';

/** Where the variance ratios of a split-plot fit come from. */
export type RatioSource =
  /** Restricted maximum likelihood from the model itself. */
  | { readonly kind: 'reml' }
  /** Fixed by the caller, for example 1 as a sensitivity check; outermost stratum first. */
  | { readonly kind: 'known-ratio'; readonly ratios: readonly number[] }
  /**
   * Restricted maximum likelihood from the full treatment model, so that lack of fit of the model
   * does not enter the variances; `treatments` labels equal settings of all factors, shape (n).
   */
  | { readonly kind: 'pure-error'; readonly treatments: Int32Array };

/** What a split-plot fit is made from. */
export interface SplitPlotInput {
  /** Model matrix, shape (n, p), coded units. */
  readonly x: Dense;
  /** Response, shape (n). */
  readonly y: Float64Array;
  /**
   * One or two groupings, outermost first; each labels the rows, shape (n). A label of the second
   * that occurs in two groups of the first means two plots.
   */
  readonly strata: readonly Int32Array[];
  /** Relative precisions of the readings, shape (n), > 0; the variance of a reading is σ²/weight. */
  readonly weights?: Float64Array;
  /** Names of the p terms. */
  readonly names?: readonly string[];
  /** Names of the groupings; by default whole plots, sub-whole plots. */
  readonly strataNames?: readonly string[];
  readonly ratioSource?: RatioSource;
  /** Confidence of all intervals; default 0.95. */
  readonly confidence?: number;
}

/** One term with its judgement. */
export interface SplitPlotCoefficient {
  readonly name: string;
  readonly estimate: number;
  /** Adjusted after Kenward and Roger. */
  readonly standardError: number;
  /** As if the variances were known. */
  readonly glsStandardError: number;
  /** Kenward–Roger degrees of freedom; Infinity never occurs, as the residual variance is estimated. */
  readonly df: number;
  readonly t: number;
  readonly p: number;
  readonly low: number;
  readonly high: number;
  readonly satterthwaiteDf: number;
  /** The stratum whose plots the term varies between: 0 the outermost, strata.length within. */
  readonly stratum: number;
}

/** One variance component; the last of a fit is that of a reading of weight 1. */
export interface VarianceComponent {
  readonly name: string;
  readonly variance: number;
  readonly standardDeviation: number;
  /** To the residual variance. */
  readonly ratio: number;
  readonly low: number;
  readonly high: number;
  readonly interval: 'profile' | 'chi-squared' | 'none';
  /** The likelihood is highest at zero. */
  readonly isAtBoundary: boolean;
}

/** Degrees of freedom of one stratum and the terms judged in it. */
export interface StratumSummary {
  readonly name: string;
  /** Number of plots; for the innermost the number of runs. */
  readonly plots: number;
  /** Error degrees of freedom left in this stratum by the model. */
  readonly df: number;
  readonly terms: readonly string[];
  /** For example "level, tilt rest on 4 df among whole plots". */
  readonly words: string;
}

/** Predicted effect of one plot. */
export interface PlotEffect {
  readonly stratum: number;
  /** The caller's label in that stratum's grouping. */
  readonly label: number;
  readonly effect: number;
  /** Standard error of prediction, variances taken as known. */
  readonly standardError: number;
}

/** A split-plot model, fitted. */
export interface SplitPlotFit {
  readonly kind: 'fitted';
  readonly method: 'reml' | 'known-ratio' | 'pure-error-reml';
  readonly coefficients: readonly SplitPlotCoefficient[];
  /** Covariance of the estimates, variances taken as known, shape (p, p). */
  readonly glsCovariance: Dense;
  /** Kenward–Roger covariance, shape (p, p). */
  readonly adjustedCovariance: Dense;
  readonly varianceComponents: readonly VarianceComponent[];
  readonly strata: readonly StratumSummary[];
  readonly plotEffects: readonly PlotEffect[];
  /** Model mean at each row, without plot effects, shape (n). */
  readonly fitted: Float64Array;
  /** y − fitted, shape (n). */
  readonly residuals: Float64Array;
  /** Restricted log likelihood with all its constants; of the model itself, whatever the source. */
  readonly restrictedLogLikelihood: number;
  /** What the reader must be told: variances at zero, few df. */
  readonly remarks: readonly string[];
  readonly confidence: number;
  readonly inference: SplitPlotInference;
}

/** What later questions of a fit (contrasts, predictions) need; not for display. */
export interface SplitPlotInference {
  /** The fit in an orthonormal basis of the model's columns. */
  readonly state: RemlState;
  /** Basis coefficients to term coefficients, shape (p, p). */
  readonly back: Dense;
  readonly estimates: Float64Array;
  /** Residual variance. */
  readonly variance: number;
  /** Kenward–Roger covariance of the basis coefficients over the residual variance, shape (p, p). */
  readonly adjusted: Float64Array;
  /** Expected-information covariance of (1, ratios), shape (q + 1, q + 1), undefined when known. */
  readonly expected: Float64Array | undefined;
  /** Observed-information covariance; rows of boundary components are zero. */
  readonly observed: Float64Array | undefined;
  /** n − p, used when the ratios are known. */
  readonly residualDf: number;
}

/** The model that variances were estimated from. */
export interface VarianceSource {
  readonly state: RemlState;
  readonly criterion: RemlCriterion;
  /** What that model leaves in each stratum: the df the variances rest on. */
  readonly stratumDf: readonly number[];
}

/** Why a split-plot model was not fitted; `words` is for the reader. */
export type SplitPlotRefusal =
  | { readonly kind: 'one-whole-plot'; readonly words: string }
  | {
      readonly kind: 'too-few-whole-plots';
      readonly stratum: number;
      readonly plots: number;
      readonly terms: readonly string[];
      readonly words: string;
    }
  | {
      readonly kind: 'aliased';
      readonly terms: readonly string[];
      readonly rank: number;
      readonly words: string;
    }
  | { readonly kind: 'saturated-within-plots'; readonly words: string }
  | { readonly kind: 'no-residual-variation'; readonly words: string };

export type SplitPlotResult = SplitPlotFit | SplitPlotRefusal;
