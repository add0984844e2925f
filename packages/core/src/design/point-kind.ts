import type { Point } from '../factor/coding.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';
import type { DesignRun, PointKind } from './design.ts';

/**
 * Where a coded point stands, by its numeric factors: all zero is the centre, all ±1 a corner, one
 * off zero an axial point, ±1 with some zeros an edge, anything else "other". A point of named
 * levels only is a corner.
 */
export function pointKind(coded: Point, factors: readonly Factor[]): PointKind {
  const values = factors.filter(isNumeric).map(({ name }) => Math.abs(Number(coded[name])));
  const zeros = values.filter((value) => value === 0).length;
  if (values.length > 0 && zeros === values.length) return 'centre';
  if (values.length > 1 && zeros === values.length - 1) return 'axial';
  if (!values.every((value) => value === 0 || value === 1)) return 'other';
  return zeros === 0 ? 'corner' : 'edge';
}

/** A run set anew, in one block, with its kind read off the point. */
export function runAt(coded: Point, factors: readonly Factor[], block = 1): DesignRun {
  return {
    coded,
    kind: pointKind(coded, factors),
    block,
    wholePlot: null,
    subWholePlot: null,
  };
}

/**
 * A coded point from one sign or number a factor. A factor with two named levels takes its first
 * level at plus and its second at minus, as in the sum-to-zero coding of model terms.
 */
export function pointOf(values: ArrayLike<number>, factors: readonly Factor[]): Point {
  const point: Record<string, number | string> = {};
  for (const [j, factor] of factors.entries()) {
    const value = values[j]!;
    point[factor.name] = isNumeric(factor)
      ? value + 0 // turns −0 into 0
      : factor.levels[value > 0 ? 0 : 1]!;
  }
  return point;
}
