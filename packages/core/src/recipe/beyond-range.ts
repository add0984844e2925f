import { isNumeric, type NumericFactor } from '../factor/factor.ts';
import {
  constraintLimits,
  keepsLimits,
  linearLimits,
  lineInside,
} from '../surface/linear-limits.ts';
import { patternSearch } from '../surface/pattern-search.ts';
import type { Predictor } from './predictor.ts';

/** How far the line and the grade let a range move past an edge, at most half its width; natural. */
export function roomBeyond(
  { state, constraints }: Predictor,
  {
    factor,
    i,
    side,
    at,
  }: {
    readonly factor: NumericFactor;
    readonly i: number;
    readonly side: 1 | -1;
    readonly at: Float64Array;
  },
): number {
  const { factors } = state.opened;
  const direction = new Float64Array(factors.length);
  direction[i] = side;
  const { to } = lineInside(at, direction, constraintLimits(factors, constraints));
  const half = (factor.high - factor.low) / 2;
  return Math.min(half, half * (Math.abs(at[i]!) + to - 1));
}

/** Of a range's width: a smaller move is not worth a block of cells. */
export const LEAST_MOVE = 0.1;

/** The best chance with one factor free to go half a range past its edge. */
export function chanceBeyond(
  { draft, state, constraints }: Predictor,
  { i, side, at }: { readonly i: number; readonly side: 1 | -1; readonly at: Float64Array },
): number {
  const { factors } = state.opened;
  const limits = linearLimits(factors, constraints).map((limit) =>
    limit.weights[i] === side && limit.weights.every((weight, f) => f === i || weight === 0)
      ? { ...limit, atMost: Math.max(limit.atMost, 2) }
      : limit,
  );
  const given = constraintLimits(factors, constraints);
  const axes = factors.flatMap((factor, f) => {
    if (!isNumeric(factor)) return [];
    const axis = new Float64Array(factors.length);
    axis[f] = 1;
    return [axis];
  });
  return patternSearch(at, axes, (place) =>
    keepsLimits(place, limits) && keepsLimits(place, given)
      ? draft!.at(place).probability
      : Number.NEGATIVE_INFINITY,
  ).score;
}
