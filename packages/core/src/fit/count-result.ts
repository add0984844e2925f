import type { Dense } from '../linear/dense.ts';

/** Spread of counts about their mean: the variance is mean, φ·mean, or mean + mean²/θ. */
export type CountFamily = 'poisson' | 'quasi-poisson' | 'negative-binomial';

/** What a model of counts is made from; the rate per exposure is exp(xᵀb). */
export interface CountInput {
  /** Model matrix, shape (n, p), coded units. */
  readonly x: Dense;
  /** Whole numbers of at least 0, shape (n). */
  readonly counts: Float64Array;
  /** Length watched (metres) or the like, shape (n), > 0; 1 everywhere when left out. */
  readonly exposure?: Float64Array;
  readonly family: 'automatic' | CountFamily;
  /** Names of the p terms. */
  readonly names?: readonly string[];
  /** Columns tested together when dropped; by default each column that is not constant. */
  readonly groups?: readonly CountTermGroup[];
  /** Confidence of intervals; default 0.95. */
  readonly confidence?: number;
}

export interface CountTermGroup {
  readonly name: string;
  readonly columns: readonly number[];
}

export interface CountCoefficient {
  readonly name: string;
  /** Change of ln rate per unit of the term. */
  readonly estimate: number;
  readonly standardError: number;
  /** z, or t on `df` when the dispersion is estimated. */
  readonly statistic: number;
  /** Infinity when the statistic is normal. */
  readonly df: number;
  readonly p: number;
  readonly low: number;
  readonly high: number;
}

/** What leaving a term out does to the deviance. */
export interface CountDropTest {
  readonly name: string;
  readonly df: number;
  /** Rise of the deviance; of −2 ln likelihood at the same θ for the negative binomial. */
  readonly likelihoodRatio: number;
  /** χ² as above, or F = likelihoodRatio / df / dispersion when that is estimated. */
  readonly statistic: number;
  readonly kind: 'chi-squared' | 'f';
  readonly p: number;
}

export interface CountFit {
  readonly kind: 'fitted';
  readonly family: CountFamily;
  /** Why this family; one sentence. */
  readonly reason: string;
  readonly coefficients: readonly CountCoefficient[];
  /** Covariance of the estimates, dispersion included, shape (p, p). */
  readonly covariance: Dense;
  /** Expected counts, shape (n). */
  readonly fitted: Float64Array;
  readonly leverages: Float64Array;
  readonly devianceResiduals: Float64Array;
  readonly pearsonResiduals: Float64Array;
  readonly deviance: number;
  /** Of one common rate; of no model when the columns do not contain a constant. */
  readonly nullDeviance: number;
  readonly pearson: number;
  /** Pearson χ² over its df for quasi-Poisson, else 1. */
  readonly dispersion: number;
  readonly dfResidual: number;
  readonly dfNull: number;
  /** Undefined for quasi-Poisson, which has no likelihood. */
  readonly logLikelihood: number | undefined;
  readonly aic: number | undefined;
  /** Negative binomial size θ and its standard error. */
  readonly size: { readonly theta: number; readonly standardError: number } | undefined;
  readonly dropTests: readonly CountDropTest[];
  readonly remarks: readonly string[];
}

export type CountResult =
  | CountFit
  /** Not one event was seen; the rate per exposure is below `upperRate` at the confidence given. */
  | {
      readonly kind: 'all-zero';
      readonly exposure: number;
      readonly confidence: number;
      readonly upperRate: number;
      readonly words: string;
    }
  /** Some terms run off to ±infinity: where they point, nothing was counted. */
  | {
      readonly kind: 'separated';
      readonly terms: readonly string[];
      /** Firth's penalised estimates, which stay finite. */
      readonly penalised: readonly CountCoefficient[];
      readonly fitted: Float64Array;
      readonly words: string;
    }
  | {
      readonly kind: 'aliased';
      readonly terms: readonly string[];
      readonly rank: number;
      readonly words: string;
    };
