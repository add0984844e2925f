import type { StrataSums } from './strata-sums.ts';

/** Nothing of the trade is ten thousand times noisier between plots than within. */
const LARGEST_RATIO = 1e9;

/** A scale on which searches for variance ratios move. */
export interface RatioScale {
  /** The value of ratio zero, one a stratum. */
  readonly floor: readonly number[];
  values(ratios: readonly number[]): number[];
  /** Exactly zero at the floor. */
  ratios(values: readonly number[]): number[];
  bounded(values: readonly number[]): number[];
}

/**
 * ln(ratio + 1/size), size the mean sum of weights of a plot. In balanced layouts a plot's mean
 * square has expectation σ²(1 + size·ratio), so this is the logarithm of the ratio of mean squares:
 * the likelihood is near quadratic in it, and it is finite at ratio zero.
 */
export function ratioScale(data: StrataSums): RatioScale {
  const total = data.size.reduce((sum, size) => sum + size, 0);
  const offset = [data.outerCount / total, data.innerCount / total].slice(0, data.strata);
  const floor = offset.map(Math.log);
  const ceiling = Math.log(LARGEST_RATIO);
  return {
    floor,
    values: (ratios) => ratios.map((ratio, k) => Math.log(ratio + offset[k]!)),
    ratios: (values) =>
      values.map((value, k) => (value <= floor[k]! ? 0 : Math.exp(value) - offset[k]!)),
    bounded: (values) => values.map((value, k) => Math.min(ceiling, Math.max(floor[k]!, value))),
  };
}
