import type { Dense } from '../linear/dense.ts';

/** What a model of passing or failing is made from. */
export interface PassFailInput {
  /** Model matrix, shape (n, p), coded units. */
  readonly x: Dense;
  /** Whether each run passed, shape (n). */
  readonly passed: readonly boolean[];
  readonly names?: readonly string[];
  /** Confidence of intervals; default 0.95. */
  readonly confidence?: number;
  /** The only column to test, without an interval; all are tested and bounded when left out. */
  readonly tested?: number;
}

export interface PassFailCoefficient {
  readonly name: string;
  /** Change of the log odds of passing per unit of the term. */
  readonly estimate: number;
  readonly standardError: number;
  /** Profile penalised likelihood limits; infinite where the profile levels off too high. */
  readonly low: number;
  readonly high: number;
  /** Penalised likelihood ratio on 1 df. */
  readonly chiSquared: number;
  readonly p: number;
}

export interface PassFailFit {
  readonly kind: 'fitted';
  readonly coefficients: readonly PassFailCoefficient[];
  /** (XᵀWX)⁻¹ at the estimates, shape (p, p). */
  readonly covariance: Dense;
  /** Probability of passing, shape (n). */
  readonly fitted: Float64Array;
  readonly penalisedLogLikelihood: number;
  readonly confidence: number;
  /** Fitted probabilities of all passes lie above those of all fails. */
  readonly isSeparated: boolean;
  readonly remarks: readonly string[];
}

export type PassFailResult =
  | PassFailFit
  /** Every run passed or every run failed: no term can be judged. */
  | {
      readonly kind: 'one-outcome';
      readonly passed: boolean;
      readonly runs: number;
      /** The other outcome's probability is below this at the confidence given. */
      readonly upperOther: number;
      readonly words: string;
    }
  | {
      readonly kind: 'aliased';
      readonly terms: readonly string[];
      readonly rank: number;
      readonly words: string;
    };
