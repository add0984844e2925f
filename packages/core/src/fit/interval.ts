import { tUpperQuantile } from '../distribution/student-t.ts';
import { DomainError } from '../error/domain-error.ts';
import type { Fitted } from './least-squares.ts';

/** What the model says of one point. */
export interface PointPrediction {
  readonly estimate: number;
  /** Of the mean at the point. */
  readonly standardError: number;
  readonly df: number;
  /** Where the mean response lies. */
  readonly confidence: readonly [low: number, high: number];
  /** Where one new run will fall. */
  readonly prediction: readonly [low: number, high: number];
}

/**
 * Confidence interval of the mean and prediction interval of a new run at one point:
 * xᵀb ± t·s·√(xᵀCx) and xᵀb ± t·s·√(1/w + xᵀCx), with C = (XᵀWX)⁻¹.
 *
 * @param row - model terms at the point, shape (p)
 * @param level - share of intervals that hold, in (0, 1)
 * @param weight - of the new run, on the scale of the fit's weights
 * @throws {DomainError} `shape_mismatch` when row has not p entries
 * @throws {DomainError} `bad_level` when level is not between 0 and 1
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, section 4.5.1
 */
export function pointPrediction(
  fit: Fitted,
  row: Float64Array,
  { level = 0.95, weight = 1 }: { readonly level?: number; readonly weight?: number } = {},
): PointPrediction {
  const p = fit.coefficients.length;
  if (row.length !== p) {
    throw new DomainError(
      'shape_mismatch',
      `pointPrediction: the point must have one value a term, ${p}; got ${row.length}. Build it with the model's own terms.`,
      { expected: p, got: row.length },
    );
  }
  if (!(level > 0 && level < 1)) {
    throw new DomainError(
      'bad_level',
      `pointPrediction: level must lie between 0 and 1; got ${level}. Use 0.95 for 95 %.`,
      { level },
    );
  }
  let estimate = 0;
  for (let j = 0; j < p; j++) estimate += row[j]! * fit.coefficients[j]!;
  const scaled = scaledPredictionVariance(fit, row);
  const t = tUpperQuantile((1 - level) / 2, fit.dfResidual);
  const standardError = fit.residualSd * Math.sqrt(scaled);
  const half = t * standardError;
  const wide = t * fit.residualSd * Math.sqrt(1 / weight + scaled);
  return {
    estimate,
    standardError,
    df: fit.dfResidual,
    confidence: [estimate - half, estimate + half],
    prediction: [estimate - wide, estimate + wide],
  };
}

/** xᵀ (XᵀWX)⁻¹ x: variance of the fitted mean in units of the residual variance. */
export function scaledPredictionVariance(
  { unscaledCovariance: { data: c } }: Pick<Fitted, 'unscaledCovariance'>,
  row: Float64Array,
): number {
  const p = row.length;
  let sum = 0;
  for (let i = 0; i < p; i++) {
    let inner = 0;
    for (let j = 0; j < p; j++) inner += c[i * p + j]! * row[j]!;
    sum += inner * row[i]!;
  }
  return Math.max(0, sum);
}
