import type { ResponseFit } from '../fit/report/fit-result.ts';
import { choleskyInto, choleskyInverse } from '../linear/cholesky.ts';
import type { FittedRows } from './fitted-rows.ts';

/** Coefficients of a fit as they would be without one of its runs. */
export interface LeftOutCoefficients {
  /** Row of the table, from 1. */
  readonly row: number;
  /** In the order of the fit's terms, shape (p). */
  readonly coefficients: Float64Array;
}

/**
 * What each run does to a fit: the coefficients without it, for every run, from one factorisation.
 *
 * Leaving run i out equals giving it a column of its own, so with C = (XᵀV⁻¹X)⁻¹ and
 * Q = V⁻¹ − V⁻¹XCXᵀV⁻¹ the coefficients lose C·XᵀV⁻¹eᵢ·(Qy)ᵢ/Qᵢᵢ. Variance ratios are held at those
 * of the whole fit. A rate of counts goes by one step of its weighted fit. A run that alone holds a
 * term up (Qᵢᵢ next to 0) cannot be left out and is not listed.
 *
 * @source Cook & Weisberg (1982), Residuals and Influence in Regression, section 2.2 (case deletion)
 *   and 5.4 (one step for generalised linear models); with correlated errors by the same argument
 */
export function leftOutCoefficients(fit: ResponseFit, rows: FittedRows): LeftOutCoefficients[] {
  const { rows: n, cols: p, data: x } = rows.x;
  if (n <= p || fit.scale === 'log odds') return [];
  const estimates = Float64Array.from(fit.terms, ({ estimate }) => estimate);
  const working = workingResponse(fit, rows, estimates);
  const inverse = covarianceInverse(fit, rows, working.variances);
  if (!inverse) return [];
  const vx = new Float64Array(n * p);
  for (let i = 0; i < n; i++)
    for (let k = 0; k < n; k++) {
      const weight = inverse[i * n + k]!;
      if (weight === 0) continue;
      for (let j = 0; j < p; j++) vx[i * p + j]! += weight * x[k * p + j]!;
    }
  const information = new Float64Array(p * p);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < p; j++)
      for (let k = 0; k <= j; k++) information[j * p + k]! += x[i * p + j]! * vx[i * p + k]!;
  if (choleskyInto(information, p) >= 0) return [];
  const c = choleskyInverse(information, p);
  return rows.rows.flatMap((row, i) => {
    const change = new Float64Array(p);
    for (let j = 0; j < p; j++)
      for (let k = 0; k < p; k++) change[j]! += c[j * p + k]! * vx[i * p + k]!;
    let q = inverse[i * n + i]!;
    for (let j = 0; j < p; j++) q -= vx[i * p + j]! * change[j]!;
    if (q <= 1e-9 * inverse[i * n + i]!) return [];
    let pull = 0;
    for (let k = 0; k < n; k++) pull += inverse[i * n + k]! * working.residuals[k]!;
    const coefficients = estimates.map((value, j) => value - (change[j]! * pull) / q);
    return [{ row, coefficients }];
  });
}

/** Residuals about the terms and variances of single readings, on the scale of the terms. */
function workingResponse(
  { scale }: ResponseFit,
  { x, y, weights, exposure }: FittedRows,
  estimates: Float64Array,
): { residuals: Float64Array; variances: Float64Array } {
  const residuals = new Float64Array(x.rows);
  const variances = new Float64Array(x.rows);
  for (let i = 0; i < x.rows; i++) {
    let mean = 0;
    for (let j = 0; j < x.cols; j++) mean += x.data[i * x.cols + j]! * estimates[j]!;
    if (scale === 'ln rate') {
      const expected = Math.exp(mean) * (exposure?.[i] ?? 1);
      residuals[i] = (y[i]! - expected) / expected;
      variances[i] = 1 / expected;
    } else {
      residuals[i] = y[i]! - mean;
      variances[i] = 1 / (weights?.[i] ?? 1);
    }
  }
  return { residuals, variances };
}

/** Inverse of diag(variances) + Σ ratio·ZZᵀ, the ratios those of the fit; null when not definite. */
function covarianceInverse(
  fit: ResponseFit,
  { strata, x: { rows: n } }: FittedRows,
  variances: Float64Array,
): Float64Array | null {
  const v = new Float64Array(n * n);
  for (let i = 0; i < n; i++) v[i * n + i] = variances[i]!;
  for (const [s, labels] of strata.entries()) {
    const ratio = plotRatio(fit, s);
    for (let i = 0; i < n; i++)
      for (let k = 0; k < n; k++) if (labels[i] === labels[k]) v[i * n + k]! += ratio;
  }
  if (choleskyInto(v, n) >= 0) return null;
  return choleskyInverse(v, n);
}

/** A plot variance over that of a reading; of counts as it stands; 1 where the fit could not say. */
export function plotRatio({ scale, varianceComponents }: ResponseFit, stratum: number): number {
  const own = varianceComponents[stratum];
  if (scale === 'ln rate') return own?.variance ?? 0;
  const residual = varianceComponents.at(-1);
  if (!own || !residual || own === residual || !(residual.variance > 0)) return 1;
  return own.variance / residual.variance;
}
