import type { LinearConstraint } from '../design/design.ts';
import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';

/** Half-spaces Σ weight·setting ≤ atMost over the settings of all factors, coded. */
export interface LinearLimit {
  readonly weights: Float64Array;
  readonly atMost: number;
  readonly says: string;
}

/**
 * The studied box of the numeric factors and the limits of line and grade, as half-spaces.
 *
 * @param reach - half-width of the box, coded
 */
export function linearLimits(
  factors: readonly Factor[],
  constraints: readonly LinearConstraint[],
  reach = 1,
): LinearLimit[] {
  const box = factors.flatMap((factor, i): LinearLimit[] => {
    if (isNamed(factor)) return [];
    return [1, -1].map((sign) => {
      const weights = new Float64Array(factors.length);
      weights[i] = sign;
      return {
        weights,
        atMost: reach,
        says: `${factor.name} inside its studied range`,
      };
    });
  });
  return [...box, ...constraintLimits(factors, constraints)];
}

/** Limits of line and grade alone, as half-spaces. */
export function constraintLimits(
  factors: readonly Factor[],
  constraints: readonly LinearConstraint[],
): LinearLimit[] {
  return constraints.map(({ coefficients, atMost, says }) => ({
    weights: Float64Array.from(factors, ({ name }) => coefficients[name] ?? 0),
    atMost,
    says,
  }));
}

/** True when settings keep all limits, up to rounding. */
export function keepsLimits(settings: Float64Array, limits: readonly LinearLimit[]): boolean {
  return limits.every(({ weights, atMost }) => along(weights, settings) <= atMost + 1e-9);
}

/**
 * How far one may go from a place along a direction before a limit is met, backwards and forwards.
 *
 * @returns from ≤ 0 ≤ to when the place itself keeps the limits
 */
export function lineInside(
  place: Float64Array,
  direction: Float64Array,
  limits: readonly LinearLimit[],
): { readonly from: number; readonly to: number } {
  let from = Number.NEGATIVE_INFINITY;
  let to = Number.POSITIVE_INFINITY;
  for (const { weights, atMost } of limits) {
    const slope = along(weights, direction);
    const room = atMost - along(weights, place);
    if (slope > 1e-14) to = Math.min(to, room / slope);
    else if (slope < -1e-14) from = Math.max(from, room / slope);
  }
  return { from, to };
}

function along(weights: Float64Array, settings: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < weights.length; i++) sum += weights[i]! * settings[i]!;
  return sum;
}
