import { digamma, logGamma, trigamma } from '../distribution/gamma-function.ts';
import { fitLogLinear, type LogLinearData, type LogLinearFit } from './log-linear.ts';

/** Outcome of estimating the size of a negative binomial. */
export type NegativeBinomialFit =
  | {
      readonly kind: 'fitted';
      readonly fit: LogLinearFit;
      readonly theta: number;
      /** From the observed information at the fitted means. */
      readonly standardError: number;
    }
  /** Counts vary no more than Poisson counts: the likelihood rises as θ goes to infinity. */
  | { readonly kind: 'no-excess-spread' };

/**
 * Negative binomial log-linear model, variance mean + mean²/θ, θ by maximum likelihood: coefficients
 * and θ in turn until θ stands still.
 *
 * @accuracy θ to about 1e-10 relative
 * @source Lawless (1987), Canadian Journal of Statistics 15, 209–225 (from memory)
 */
export function fitNegativeBinomial(
  data: Omit<LogLinearData, 'theta'>,
  poisson: LogLinearFit,
): NegativeBinomialFit {
  const { counts } = data;
  let fit = poisson;
  let theta = sizeEstimate(counts, fit.mean, momentStart(counts, fit.mean));
  for (let round = 0; round < 200; round++) {
    if (theta === undefined) return { kind: 'no-excess-spread' };
    fit = fitLogLinear({ ...data, theta }, { start: fit.coefficients });
    const next = sizeEstimate(counts, fit.mean, theta);
    if (next === undefined) return { kind: 'no-excess-spread' };
    const change = Math.abs(next - theta) / theta;
    theta = next;
    if (change < 1e-12) break;
  }
  if (theta === undefined) return { kind: 'no-excess-spread' };
  fit = fitLogLinear({ ...data, theta }, { start: fit.coefficients });
  const { information } = sizeSlope(counts, fit.mean, theta);
  return { kind: 'fitted', fit, theta, standardError: 1 / Math.sqrt(information) };
}

function momentStart(counts: Float64Array, mean: Float64Array): number {
  let s = 0;
  for (let i = 0; i < counts.length; i++) s += (counts[i]! / mean[i]! - 1) ** 2;
  return counts.length / s;
}

/** Slope of the log likelihood in θ and the observed information. */
function sizeSlope(counts: Float64Array, mean: Float64Array, theta: number) {
  let score = 0;
  let information = 0;
  for (let i = 0; i < counts.length; i++) {
    const y = counts[i]!;
    const m = mean[i]!;
    score +=
      digamma(theta + y) - digamma(theta) + Math.log(theta / (theta + m)) + (m - y) / (theta + m);
    information +=
      trigamma(theta) -
      trigamma(theta + y) -
      1 / theta +
      2 / (theta + m) -
      (y + theta) / (theta + m) ** 2;
  }
  return { score, information };
}

/** θ of highest likelihood at fixed means, by Newton in ln θ kept within a bracket. */
function sizeEstimate(counts: Float64Array, mean: Float64Array, start: number): number | undefined {
  let excess = 0;
  for (let i = 0; i < counts.length; i++) excess += (counts[i]! - mean[i]!) ** 2 - counts[i]!;
  if (excess <= 0) return undefined;
  let u = Math.log(Math.min(Math.max(start, 1e-4), 1e6));
  let [low, high] = [Math.log(1e-8), Math.log(1e10)];
  for (let step = 0; step < 200; step++) {
    const theta = Math.exp(u);
    const { score, information } = sizeSlope(counts, mean, theta);
    if (score > 0) low = u;
    else high = u;
    const slope = score * theta;
    const curvature = information * theta * theta - slope;
    let next = u + slope / curvature;
    if (!(curvature > 0 && next > low && next < high)) next = (low + high) / 2;
    const move = Math.abs(next - u);
    u = next;
    if (move < 1e-14 * (1 + Math.abs(u))) break;
  }
  const theta = Math.exp(u);
  return theta > 1e9 ? undefined : theta;
}

/** Log likelihood of counts; θ Infinity is Poisson. */
export function countLogLikelihood(
  counts: Float64Array,
  mean: Float64Array,
  theta: number,
): number {
  let sum = 0;
  for (let i = 0; i < counts.length; i++) {
    const y = counts[i]!;
    const m = mean[i]!;
    const own = y === 0 ? 0 : y * Math.log(m);
    sum -= logGamma(y + 1);
    if (theta === Number.POSITIVE_INFINITY) sum += own - m;
    else {
      sum += logGamma(theta + y) - logGamma(theta) + theta * Math.log(theta) + own;
      sum -= (theta + y) * Math.log(theta + m);
    }
  }
  return sum;
}
