import { times } from './covariance-view.ts';
import type { RemlState } from './reml.ts';

/**
 * Variance of one combination l of basis coefficients and its slopes in each variance component,
 * residual first: d(lᵀΦl)/dσ_k² = lᵀΦ A_k Φ l.
 *
 * @param l - combination, shape (p)
 * @returns value lᵀΦl and its slopes, shape (q + 1); over the residual variance
 */
export function varianceSlopes(state: RemlState, l: Float64Array) {
  const p = state.data.cols;
  const v = times(l, 1, state.phi, p);
  let value = 0;
  for (let j = 0; j < p; j++) value += v[j]! * l[j]!;
  const slopes = new Float64Array(state.plots.length + 1);
  slopes[0] = value;
  for (const [k, { spread }] of state.plots.entries()) {
    let s = 0;
    for (let i = 0; i < p; i++) {
      let row = 0;
      for (let j = 0; j < p; j++) row += spread[i * p + j]! * v[j]!;
      s += row * v[i]!;
    }
    slopes[k + 1] = s;
    slopes[0]! -= state.ratios[k]! * s;
  }
  return { value, slopes };
}

/**
 * Degrees of freedom 2 f² / (∇fᵀ W ∇f) of one estimated variance f, the chi-squared with its mean
 * and variance.
 *
 * With W from observed information these are Satterthwaite's; with W from expected information
 * they are Kenward and Roger's for a single combination.
 *
 * @source Satterthwaite (1946), Biometrics Bulletin 2, 110–114 (from memory)
 */
export function varianceDf(value: number, slopes: Float64Array, covariance: Float64Array): number {
  const n = slopes.length;
  let spread = 0;
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) spread += slopes[i]! * covariance[i * n + j]! * slopes[j]!;
  return (2 * value * value) / spread;
}
