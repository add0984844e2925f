import { normalUpperQuantile } from '../distribution/normal.ts';
import { quickTLower } from '../distribution/tabulated-cdf.ts';

/** A mixture of t distributions of one df. */
export interface TMixture {
  readonly df: number;
  readonly weights: Float64Array;
  readonly centers: Float64Array;
  /** Squared scales; the variance of a part is scale·df/(df − 2). */
  readonly squaredScales: Float64Array;
}

/** Mean and standard deviation; the latter is infinite with 2 df or fewer. */
export function mixtureMoments({ df, weights, centers, squaredScales }: TMixture) {
  let mean = 0;
  for (let i = 0; i < weights.length; i++) mean += weights[i]! * centers[i]!;
  let variance = 0;
  for (let i = 0; i < weights.length; i++)
    variance += weights[i]! * ((squaredScales[i]! * df) / (df - 2) + (centers[i]! - mean) ** 2);
  return { mean, sd: df > 2 ? Math.sqrt(variance) : Number.POSITIVE_INFINITY };
}

/**
 * Probability of at most `value`.
 *
 * @accuracy 1e-8 absolute: the parts come from one table, as they have one df
 */
export function mixtureLower(mixture: TMixture, value: number): number {
  const { df, weights, centers, squaredScales } = mixture;
  const tLower = quickTLower(df);
  let sum = 0;
  for (let i = 0; i < weights.length; i++)
    sum += weights[i]! * tLower((value - centers[i]!) / Math.sqrt(squaredScales[i]!));
  return sum;
}

/**
 * Value that a share `p` of the mixture stays below: secants in a bracket.
 *
 * @accuracy probability to 1e-8
 */
export function mixtureQuantile(mixture: TMixture, p: number): number {
  const { weights, centers, squaredScales } = mixture;
  let center = 0;
  let scale = 0;
  for (let i = 0; i < weights.length; i++) {
    center += weights[i]! * centers[i]!;
    scale += weights[i]! * Math.sqrt(squaredScales[i]!);
  }
  if (scale === 0) return center;
  const guess = center - normalUpperQuantile(p) * scale;
  let [low, high] = [guess - scale, guess + scale];
  let below = mixtureLower(mixture, low) - p;
  let above = mixtureLower(mixture, high) - p;
  for (let reach = 2 * scale; below > 0; reach *= 2) {
    low -= reach;
    below = mixtureLower(mixture, low) - p;
  }
  for (let reach = 2 * scale; above < 0; reach *= 2) {
    high += reach;
    above = mixtureLower(mixture, high) - p;
  }
  for (let step = 0; step < 100; step++) {
    const middle = low - (below * (high - low)) / (above - below);
    const f = mixtureLower(mixture, middle) - p;
    if (Math.abs(f) < 1e-10 || high - low < 1e-13 * scale) return middle;
    if (f < 0) {
      low = middle;
      below = f;
      if (step > 0) above /= 2;
    } else {
      high = middle;
      above = f;
      if (step > 0) below /= 2;
    }
  }
  return (low + high) / 2;
}
