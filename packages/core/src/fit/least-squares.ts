import { DomainError } from '../error/domain-error.ts';
import type { Dense } from '../linear/dense.ts';
import { qrFactor, RELATIVE_RANK_TOLERANCE, thinQ, upperFactor } from '../linear/qr.ts';
import { refinedSolution } from '../linear/refinement.ts';
import { upperInverse } from '../linear/triangular.ts';
import { type Aliased, aliasedOutcome } from './aliased.ts';

/** Squares of responses beyond this overflow. */
const LARGEST_RESPONSE = 1e150;

/** What a fit needs: a model matrix, a response, and weights when the runs differ in precision. */
export interface LeastSquaresInput {
  /** Model matrix, shape (n, p). */
  readonly x: Dense;
  /** Response, shape (n). */
  readonly y: Float64Array;
  /** Positive, inversely proportional to the variance of each run; shape (n); all 1 when left out. */
  readonly weights?: Float64Array;
  /** See `qrFactor`; widen it when coding has lost digits. */
  readonly rankTolerance?: number;
}

/** What can be said of any model whose columns are independent. */
export interface Estimates {
  /** b, shape (p); unit of the response per unit of the column. */
  readonly coefficients: Float64Array;
  /** (XᵀWX)⁻¹, shape (p, p); times the residual variance it is the covariance of b. */
  readonly unscaledCovariance: Dense;
  /** y − Xb, shape (n). */
  readonly residuals: Float64Array;
  /** Xb, shape (n). */
  readonly fitted: Float64Array;
  /** Diagonal of the hat matrix, shape (n); in [0, 1], summing to p. */
  readonly leverages: Float64Array;
  /** Weights as used, shape (n); null when all are 1. */
  readonly weights: Float64Array | null;
  /** Residual sum of squares Σ w r². */
  readonly rss: number;
  /** Σ w (y − ȳ)² with the weighted mean when a column is constant, else Σ w y². */
  readonly totalSs: number;
  /** Sum of squares each column adds after those before it, shape (p). */
  readonly sequentialSs: Float64Array;
  /** Index of the constant column; null without one. */
  readonly constantColumn: number | null;
  readonly dfResidual: number;
}

/** A fit with residual degrees of freedom. */
export interface Fitted extends Estimates {
  readonly kind: 'fitted';
  /** s = √(rss / dfResidual); unit of the response. */
  readonly residualSd: number;
  /** s·√diag (XᵀWX)⁻¹, shape (p). */
  readonly standardErrors: Float64Array;
  /** True when what is left is rounding: then s, and every test built on it, says nothing. */
  readonly isPerfect: boolean;
}

/** As many terms as runs: estimates, and nothing to judge them by. */
export interface Saturated extends Estimates {
  readonly kind: 'saturated';
}

export type LeastSquares = Fitted | Saturated | Aliased;

/**
 * Weighted least squares by Householder QR with refinement: the estimation of record.
 *
 * A response that sits far from zero is shifted by its mean before the fit whenever that
 * subtraction is exact, so a mean of 1e6 costs an SD of 1e-3 no digits.
 *
 * @throws {DomainError} `shape_mismatch` when y or weights are not as long as x has rows
 * @throws {DomainError} `not_finite` when an entry of x or y is NaN, infinite, or too large to square
 * @throws {DomainError} `bad_weight` when a weight is not a positive finite number
 * @accuracy NIST linear-regression sets, tests/reference/nist-linear-regression.test.ts
 * @source Golub & Van Loan (2013), Matrix Computations, 4th ed., §5.3
 */
export function leastSquares(input: LeastSquaresInput): LeastSquares {
  const { x, y, weights } = input;
  checkInput(input);
  const { rows: n, cols: p } = x;
  const constantColumn = constantColumnOf(x);
  const shift = constantColumn === null ? 0 : exactShift(y);
  const roots = weights ? weights.map(Math.sqrt) : null;
  const target = y.slice();
  for (let i = 0; i < n; i++) target[i] = (target[i]! - shift) * (roots ? roots[i]! : 1);
  const columns = roots ? rowsTimes(x, roots) : x;
  const factor = qrFactor(columns, input.rankTolerance ?? RELATIVE_RANK_TOLERANCE);
  if (factor.rank < p) return aliasedOutcome(factor);

  const solution = refinedSolution(target, factor);
  const coefficients = solution.coefficients;
  if (constantColumn !== null && shift !== 0)
    coefficients[constantColumn]! += shift / x.data[constantColumn]!;
  const residuals = solution.residuals;
  let rss = 0;
  for (let i = 0; i < n; i++) {
    rss += residuals[i]! * residuals[i]!;
    if (roots) residuals[i]! /= roots[i]!;
  }
  const fitted = new Float64Array(n);
  for (let i = 0; i < n; i++) fitted[i] = y[i]! - residuals[i]!;
  const estimates: Estimates = {
    coefficients,
    unscaledCovariance: unscaledCovariance(upperInverse(upperFactor(factor)), factor.scale),
    residuals,
    fitted,
    leverages: squaredRowNorms(thinQ(factor), n, p),
    weights: weights ?? null,
    rss,
    totalSs: totalSumOfSquares(target, roots, constantColumn !== null),
    sequentialSs: solution.rotated.subarray(0, p).map((value) => value * value),
    constantColumn,
    dfResidual: n - p,
  };
  if (n === p) return { kind: 'saturated', ...estimates };
  const residualSd = Math.sqrt(rss / (n - p));
  const standardErrors = new Float64Array(p);
  for (let j = 0; j < p; j++)
    standardErrors[j] = residualSd * Math.sqrt(estimates.unscaledCovariance.data[j * p + j]!);
  const isPerfect = isRounding(rss, estimates.totalSs, y, weights);
  return { kind: 'fitted', ...estimates, residualSd, standardErrors, isPerfect };
}

/** Index of the first column whose entries are equal and not zero; null when there is none. */
export function constantColumnOf({ rows: n, cols: p, data }: Dense): number | null {
  for (let j = 0; j < p; j++) {
    const first = data[j];
    if (first === undefined || first === 0) continue;
    let i = 1;
    while (i < n && data[i * p + j] === first) i++;
    if (i === n) return j;
  }
  return null;
}

/** Mean of y when y − mean is exact for every entry (all within a factor of two of it), else 0. */
function exactShift(y: Float64Array): number {
  if (y.length === 0) return 0;
  const mean = y.reduce((sum, value) => sum + value / y.length, 0);
  // Sterbenz's lemma: a − b is exact when b/2 ≤ a ≤ 2b.
  return y.every((value) => value / mean >= 0.5 && value / mean <= 2) ? mean : 0;
}

function rowsTimes({ rows, cols, data }: Dense, factors: Float64Array): Dense {
  const out = data.slice();
  for (let i = 0; i < rows; i++)
    for (let j = i * cols; j < (i + 1) * cols; j++) out[j]! *= factors[i]!;
  return { rows, cols, data: out };
}

/** D⁻¹ R⁻¹ R⁻ᵀ D⁻¹ where D holds the column scales. */
function unscaledCovariance(inverse: Dense, scale: Float64Array): Dense {
  const { rows: p, data: t } = inverse;
  const out = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    for (let j = i; j < p; j++) {
      let sum = 0;
      for (let k = j; k < p; k++) sum += t[i * p + k]! * t[j * p + k]!;
      sum /= scale[i]! * scale[j]!;
      out[i * p + j] = sum;
      out[j * p + i] = sum;
    }
  }
  return { rows: p, cols: p, data: out };
}

function squaredRowNorms(q: Float64Array, n: number, p: number): Float64Array {
  const out = new Float64Array(n);
  for (let k = 0; k < p; k++) for (let i = 0; i < n; i++) out[i]! += q[k * n + i]! * q[k * n + i]!;
  for (let i = 0; i < n; i++) if (out[i]! > 1) out[i] = 1;
  return out;
}

/** `target` is √w·(y − shift). */
function totalSumOfSquares(
  target: Float64Array,
  roots: Float64Array | null,
  isCentred: boolean,
): number {
  let mean = 0;
  if (isCentred) {
    let sum = 0;
    let weight = 0;
    for (let i = 0; i < target.length; i++) {
      const root = roots ? roots[i]! : 1;
      sum += target[i]! * root;
      weight += root * root;
    }
    mean = sum / weight;
  }
  let total = 0;
  for (let i = 0; i < target.length; i++) {
    const part = target[i]! - mean * (roots ? roots[i]! : 1);
    total += part * part;
  }
  return total;
}

/**
 * Residuals that rounding alone explains: 1e-12 of the response's own spread, or a few units in
 * the last place of its values, since the response was itself rounded to a double.
 */
function isRounding(rss: number, total: number, y: Float64Array, weights?: Float64Array): boolean {
  let size = 0;
  for (let i = 0; i < y.length; i++) size += y[i]! * y[i]! * (weights ? weights[i]! : 1);
  return rss <= Math.max(1e-24 * total, (4 * Number.EPSILON) ** 2 * size);
}

function checkInput({ x, y, weights }: LeastSquaresInput): void {
  if (y.length !== x.rows || (weights && weights.length !== x.rows)) {
    throw new DomainError(
      'shape_mismatch',
      `leastSquares: response and weights must have one entry a run; got ${y.length} responses and ${weights?.length ?? 'no'} weights for ${x.rows} runs. Check the columns.`,
      { rows: x.rows, y: y.length, weights: weights?.length },
    );
  }
  for (let i = 0; i < y.length; i++) {
    if (!(Math.abs(y[i]!) < LARGEST_RESPONSE)) {
      throw new DomainError(
        'not_finite',
        `leastSquares: every response must be a number below 1e150; got ${y[i]} (run ${i + 1}). Leave the run out or mend it.`,
        { row: i },
      );
    }
    const weight = weights ? weights[i]! : 1;
    if (!(weight > 0 && Number.isFinite(weight))) {
      throw new DomainError(
        'bad_weight',
        `leastSquares: every weight must be a positive number; got ${weight} (run ${i + 1}). Leave the run out or give it a weight.`,
        { row: i },
      );
    }
  }
}
