import { chiSquaredQuantile, chiSquaredUpperQuantile } from '../distribution/chi-squared.ts';
import { noncentralTUpper } from '../distribution/noncentral-t.ts';
import { normalUpperQuantile } from '../distribution/normal.ts';
import { DomainError } from '../error/domain-error.ts';

/** Specification limits, in the unit of the characteristic. */
export interface SpecificationLimits {
  readonly low: number;
  readonly high: number;
}

/** Indices of one mean and one SD; unitless. */
export interface Indices {
  /** Width of the limits over six SDs: Pp, or Cp with the SD within subgroups. */
  readonly spread: number;
  /** To the lower and to the upper limit, over three SDs. */
  readonly toLow: number;
  readonly toHigh: number;
  /** The smaller of the two: Ppk, or Cpk. */
  readonly nearer: number;
}

/**
 * Indices for a normal characteristic: (U − L)/6σ, (x̄ − L)/3σ, (U − x̄)/3σ. With the SD of all readings
 * they are performance indices Pp and Ppk; with the SD within subgroups of a process in control they
 * are capability indices Cp and Cpk.
 *
 * @throws {DomainError} `limits_order` when low is not below high
 * @throws {DomainError} `no_spread` when sd is not above 0
 * @source ISO 22514-2:2017 (definitions, from memory), the normal case
 */
export function indices(mean: number, sd: number, { low, high }: SpecificationLimits): Indices {
  if (!(low < high)) {
    throw new DomainError(
      'limits_order',
      `indices: low must be below high; got low=${low}, high=${high}. Swap the limits.`,
      { low, high },
    );
  }
  if (!(sd > 0)) {
    throw new DomainError(
      'no_spread',
      `indices: sd must exceed 0; got ${sd}. Check that the gauge is not stuck.`,
      { sd },
    );
  }
  const toLow = (mean - low) / (3 * sd);
  const toHigh = (high - mean) / (3 * sd);
  return { spread: (high - low) / (6 * sd), toLow, toHigh, nearer: Math.min(toLow, toHigh) };
}

/** How well mean and SD are known: numbers of independent readings that would tell them as well. */
export interface EffectiveSizes {
  readonly forMean: number;
  readonly forVariance: number;
}

export interface Interval {
  readonly low: number;
  readonly high: number;
}

/** Interval of the spread index: exact for a normal characteristic, from χ² of the variance. */
export function spreadInterval(
  { spread }: Pick<Indices, 'spread'>,
  { forVariance }: Pick<EffectiveSizes, 'forVariance'>,
  confidence = 0.95,
): Interval {
  const df = forVariance - 1;
  const tail = (1 - confidence) / 2;
  return {
    low: spread * Math.sqrt(chiSquaredQuantile(tail, df) / df),
    high: spread * Math.sqrt(chiSquaredUpperQuantile(tail, df) / df),
  };
}

/**
 * Interval of the nearer index, normal approximation: variance 1/(9 n) + C²/(2 (n − 1)), with the two
 * effective sizes in their places.
 *
 * @source Bissell (1990), Applied Statistics 39:331 (from memory)
 */
export function nearerInterval(
  { nearer }: Pick<Indices, 'nearer'>,
  { forMean, forVariance }: EffectiveSizes,
  confidence = 0.95,
): Interval {
  const half =
    normalUpperQuantile((1 - confidence) / 2) *
    Math.sqrt(1 / (9 * forMean) + nearer ** 2 / (2 * (forVariance - 1)));
  return { low: nearer - half, high: nearer + half };
}

/**
 * Value that the index to the nearer limit is not below, one-sided: 3√n·C is a noncentral t variable.
 *
 * @returns lower limit of the index; confidence holds exactly for the limit named beforehand, and is
 *   a little short where the nearer one is picked by the data
 * @source follows from the definition of the noncentral t; the same argument as one-sided tolerance limits
 *   in ISO 16269-6
 */
export function nearerNotBelow(
  { nearer }: Pick<Indices, 'nearer'>,
  { forMean, forVariance }: EffectiveSizes,
  confidence = 0.95,
): number {
  const root = Math.sqrt(forMean);
  const df = forVariance - 1;
  const seen = 3 * nearer * root;
  // P(T > seen) rises with the true index: halve until it is 1 − confidence.
  let low = nearer - 1 - 10 * Math.sqrt(1 / (9 * forMean) + nearer ** 2 / (2 * df));
  let high = nearer;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (noncentralTUpper(seen, df, 3 * middle * root) < 1 - confidence) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * Ppk by percentiles, for a characteristic that is not normal: the median's distance to a limit over its
 * distance to the 0.135 % point on that side.
 *
 * @param sorted - rising readings
 * @param quantile - of sorted readings
 * @source ISO 22514-2:2017, general geometric method (from memory)
 */
export function nearerByPercentiles(
  sorted: Float64Array,
  { low, high }: SpecificationLimits,
  quantile: (sorted: Float64Array, p: number) => number,
): number | null {
  const middle = quantile(sorted, 0.5);
  const above = quantile(sorted, 0.99865) - middle;
  const below = middle - quantile(sorted, 0.00135);
  if (!(above > 0) || !(below > 0)) return null;
  return Math.min((high - middle) / above, (middle - low) / below);
}
