import { chiSquaredUpper } from '../../distribution/chi-squared.ts';

/** Does the scatter grow or shrink along the fitted values? */
export type ConstantVariance =
  | {
      readonly kind: 'tested';
      readonly statistic: number;
      readonly p: number;
      /** Fitted SD of the scatter at the largest over that at the smallest fitted value. */
      readonly sdRatio: number;
    }
  | { readonly kind: 'cannot'; readonly words: string };

/**
 * Score test of a variance that changes along the fitted values, in its form for errors that need
 * not be normal: n·R² of the squared residuals on the fitted values, χ² on 1 df.
 *
 * @param residuals - studentised, shape (n)
 * @param fitted - shape (n)
 * @source Koenker (1981), A note on studentizing a test for heteroscedasticity, J. Econometrics
 *   17:107–112; Cook & Weisberg (1983), Biometrika 70:1–10 (both from memory)
 */
export function constantVariance(residuals: Float64Array, fitted: Float64Array): ConstantVariance {
  const n = residuals.length;
  const squares = residuals.map((value) => value * value);
  const line = simpleLine(fitted, squares);
  if (n < 8) return { kind: 'cannot', words: `${n} runs are too few` };
  if (!line) return { kind: 'cannot', words: 'all fitted values are the same' };
  const { slope, intercept, share, low, high } = line;
  const statistic = n * share;
  const at = (value: number): number => Math.max(intercept + slope * value, 0.05 * line.mean);
  return {
    kind: 'tested',
    statistic,
    p: chiSquaredUpper(statistic, 1),
    sdRatio: Math.sqrt(at(high) / at(low)),
  };
}

function simpleLine(x: Float64Array, y: Float64Array) {
  const n = x.length;
  const meanX = x.reduce((sum, value) => sum + value / n, 0);
  const mean = y.reduce((sum, value) => sum + value / n, 0);
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let i = 0; i < n; i++) {
    xx += (x[i]! - meanX) ** 2;
    xy += (x[i]! - meanX) * (y[i]! - mean);
    yy += (y[i]! - mean) ** 2;
  }
  // Fitted values that differ by rounding only are one value.
  if (!(xx > 1e-20 * n * (meanX * meanX + 1e-300)) || !(yy > 0)) return null;
  const slope = xy / xx;
  return {
    slope,
    intercept: mean - slope * meanX,
    share: (xy * xy) / (xx * yy),
    mean,
    low: Math.min(...x),
    high: Math.max(...x),
  };
}
