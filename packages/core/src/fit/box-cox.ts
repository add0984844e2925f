import { chiSquaredUpperQuantile } from '../distribution/chi-squared.ts';
import type { Dense } from '../linear/dense.ts';
import { applyQTransposedInto, type QrFactor, qrFactor } from '../linear/qr.ts';
import { constantColumnOf } from './least-squares.ts';

/** Which power of the response the model likes best, or why none can be named. */
export type BoxCox =
  | {
      readonly kind: 'profiled';
      /** Power with the largest profile likelihood. */
      readonly lambda: number;
      readonly logLikelihood: number;
      /** Powers that the data do not contradict at the level asked for; null where the search ended. */
      readonly interval: readonly [low: number | null, high: number | null];
      readonly geometricMean: number;
      /** Powers and their log-likelihoods, evenly spaced, for a figure. */
      readonly profile: readonly { readonly lambda: number; readonly logLikelihood: number }[];
    }
  | { readonly kind: 'not-positive'; readonly row: number; readonly value: number }
  | { readonly kind: 'no-residual-df' }
  | { readonly kind: 'no-maximum'; readonly from: number; readonly to: number };

const SEARCH = { from: -5, to: 5 } as const;

/**
 * Box–Cox profile likelihood of a power transformation.
 *
 * z(λ) = (y^λ − 1) / (λ·g^(λ−1)), z(0) = g·ln y, g the geometric mean;
 * ℓ(λ) = −(n/2)·ln(rss(λ)/n), rss from the model; the interval holds the λ with
 * ℓ(λ) > ℓmax − χ²(1 df)/2. The search runs from −5 to 5.
 *
 * @param x - model matrix, shape (n, p), full rank
 * @param y - response, shape (n), > 0
 * @param level - of the interval, in (0, 1)
 * @accuracy λ within 1e-6, against datasets/box-cox
 * @source Box & Cox (1964), An analysis of transformations, J. R. Statist. Soc. B 26:211–252
 */
export function boxCox(x: Dense, y: Float64Array, level = 0.95): BoxCox {
  const row = y.findIndex((value) => !(value > 0));
  if (row >= 0) return { kind: 'not-positive', row, value: y[row]! };
  const factor = qrFactor(x);
  if (factor.rank >= y.length) return { kind: 'no-residual-df' };
  const logs = y.map(Math.log);
  const meanLog = logs.reduce((sum, value) => sum + value, 0) / y.length;
  const geometricMean = Math.exp(meanLog);
  const apart = logs.map((value) => value - meanLog);
  // With a constant column in the model, the constant part of z(λ) is fitted away; leave it out.
  const offset = constantColumnOf(x) === null ? meanLog : 0;
  const score = (lambda: number): number =>
    (-y.length / 2) * Math.log(residualOf(lambda, apart, offset, geometricMean, factor) / y.length);

  const { from, to } = SEARCH;
  const profile = Array.from({ length: 101 }, (_, i) => {
    const lambda = from + ((to - from) * i) / 100;
    return { lambda, logLikelihood: score(lambda) };
  });
  let top = 0;
  for (const [i, point] of profile.entries())
    if (point.logLikelihood > profile[top]!.logLikelihood) top = i;
  if (top === 0 || top === 100 || !Number.isFinite(profile[top]!.logLikelihood))
    return { kind: 'no-maximum', from, to };
  const lambda = maximiser(score, profile[top - 1]!.lambda, profile[top + 1]!.lambda);
  const logLikelihood = score(lambda);
  const floor = logLikelihood - chiSquaredUpperQuantile(1 - level, 1) / 2;
  const gap = (at: number): number => score(at) - floor;
  return {
    kind: 'profiled',
    lambda,
    logLikelihood,
    interval: [crossing(gap, lambda, from), crossing(gap, lambda, to)],
    geometricMean,
    profile,
  };
}

/** rss of z(λ) = g·((e^(λu) − 1)/λ + (1 − g^−λ)/λ) with u = ln y − ln g; no cancellation near λ = 0. */
function residualOf(
  lambda: number,
  apart: Float64Array,
  offset: number,
  geometricMean: number,
  factor: QrFactor,
): number {
  const constant = lambda === 0 ? offset : -Math.expm1(-lambda * offset) / lambda;
  const z = apart.map((u) => constant + (lambda === 0 ? u : Math.expm1(lambda * u) / lambda));
  applyQTransposedInto(z, factor);
  let rss = 0;
  for (let i = factor.rank; i < z.length; i++) rss += z[i]! * z[i]!;
  return rss * geometricMean * geometricMean;
}

/** Golden-section search for the top of a function with one top between a and b. */
function maximiser(score: (at: number) => number, a: number, b: number): number {
  const ratio = (Math.sqrt(5) - 1) / 2;
  let low = a;
  let high = b;
  let left = high - ratio * (high - low);
  let right = low + ratio * (high - low);
  let atLeft = score(left);
  let atRight = score(right);
  while (high - low > 1e-8) {
    if (atLeft > atRight) {
      high = right;
      right = left;
      atRight = atLeft;
      left = high - ratio * (high - low);
      atLeft = score(left);
    } else {
      low = left;
      left = right;
      atLeft = atRight;
      right = low + ratio * (high - low);
      atRight = score(right);
    }
  }
  return (low + high) / 2;
}

/** Where `gap` falls through 0 between `inside` and `limit`; null when it does not. */
function crossing(gap: (at: number) => number, inside: number, limit: number): number | null {
  if (gap(limit) > 0) return null;
  let good = inside;
  let bad = limit;
  while (Math.abs(good - bad) > 1e-9) {
    const middle = (good + bad) / 2;
    if (gap(middle) > 0) good = middle;
    else bad = middle;
  }
  return (good + bad) / 2;
}
