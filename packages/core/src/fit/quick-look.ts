import MultivariateLinearRegression from 'ml-regression-multivariate-linear';
import type { Dense } from '../linear/dense.ts';
import { qrFactor } from '../linear/qr.ts';

/** Coefficients so far, or why there are none yet. */
export type QuickLook =
  | { readonly kind: 'looked'; readonly coefficients: Float64Array }
  | { readonly kind: 'too-few-cells'; readonly cells: number; readonly terms: number }
  | { readonly kind: 'aliased'; readonly rank: number; readonly terms: number };

/**
 * Coefficients after each cell, by an independent routine on normal equations.
 *
 * Good enough on coded, well-conditioned columns, where it agrees with `leastSquares` to about ten
 * digits; never the analysis of record.
 *
 * @param x - model matrix in coded units, shape (n, p), the constant column included
 * @param y - response, shape (n)
 */
export function quickLook(x: Dense, y: Float64Array): QuickLook {
  const { rows: n, cols: p, data } = x;
  if (n < p) return { kind: 'too-few-cells', cells: n, terms: p };
  const { rank } = qrFactor(x);
  if (rank < p) return { kind: 'aliased', rank, terms: p };
  const rows = Array.from({ length: n }, (_, i) => Array.from(data.subarray(i * p, (i + 1) * p)));
  const responses = Array.from(y, (value) => [value]);
  const found = new MultivariateLinearRegression(rows, responses, {
    intercept: false,
    statistics: false,
  });
  return { kind: 'looked', coefficients: Float64Array.from(found.weights, (row) => row[0]!) };
}
