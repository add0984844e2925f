import { z } from 'zod';
import type { Point } from '../factor/coding.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';

/** How strongly a factor's settings follow the run order; absolute correlations, 0 to 1. */
export const TimeTrend = z.strictObject({
  factor: z.string(),
  linear: z
    .number()
    .min(0)
    .max(1 + 1e-9),
  quadratic: z
    .number()
    .min(0)
    .max(1 + 1e-9),
});
export type TimeTrend = Readonly<z.infer<typeof TimeTrend>>;

/**
 * Absolute correlation of each factor with linear and quadratic time, in run order.
 *
 * A drift that grows with time hides in a factor in proportion to its `linear` value. A named
 * factor counts by its worst level. A factor that never changes has correlation 0.
 *
 * @param coded - coded points in run order
 */
export function timeTrends(coded: readonly Point[], factors: readonly Factor[]): TimeTrend[] {
  const { linear, quadratic } = timeContrasts(coded.length);
  return factors.map((factor) => {
    const columns = trendColumns(coded, factor);
    const worst = (time: Float64Array): number =>
      Math.max(...columns.map((column) => Math.abs(correlation(column, time))));
    return { factor: factor.name, linear: worst(linear), quadratic: worst(quadratic) };
  });
}

/** The numeric columns that stand for a factor: itself, or an indicator a level. */
export function trendColumns(coded: readonly Point[], factor: Factor): Float64Array[] {
  if (isNumeric(factor)) return [Float64Array.from(coded, (point) => Number(point[factor.name]))];
  return factor.levels.map((level) =>
    Float64Array.from(coded, (point) => (point[factor.name] === level ? 1 : 0)),
  );
}

/** Linear and quadratic orthogonal polynomials of n equally spaced times, each of length 1. */
export function timeContrasts(n: number): { linear: Float64Array; quadratic: Float64Array } {
  const middle = (n - 1) / 2;
  const linear = Float64Array.from({ length: n }, (_, i) => i - middle);
  const quadratic = linear.map((t) => t * t - (n * n - 1) / 12);
  return { linear: normalised(linear), quadratic: normalised(quadratic) };
}

/** The column less its mean, scaled to length 1; all zeros when it does not vary. */
export function normalised(column: Float64Array): Float64Array {
  const mean = column.reduce((sum, value) => sum + value, 0) / column.length;
  const centred = column.map((value) => value - mean);
  const length = Math.hypot(...centred);
  return length < 1e-9 ? centred.fill(0) : centred.map((value) => value / length);
}

function correlation(column: Float64Array, contrast: Float64Array): number {
  const centred = normalised(column);
  let sum = 0;
  for (let i = 0; i < centred.length; i++) sum += centred[i]! * contrast[i]!;
  return sum;
}
