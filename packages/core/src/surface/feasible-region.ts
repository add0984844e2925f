import type { LinearConstraint } from '../design/design.ts';
import { type Factor, isNamed } from '../factor/factor.ts';

/** Where settings may be sought, in coded units; named levels are not limited by it. */
export type Region =
  | { readonly kind: 'box'; readonly halfWidth: number }
  | { readonly kind: 'sphere'; readonly radius: number };

/**
 * The nearest point of the region that keeps every linear limit, by Dykstra's alternating
 * projections; null when the limits leave nothing within reach.
 *
 * @param settings - in the order of the factors, coded; named levels pass through
 * @source Boyle & Dykstra (1986), A method for finding projections onto the intersection of convex
 *   sets in Hilbert spaces, Lecture Notes in Statistics 37:28–47
 */
export function nearestFeasible(
  settings: Float64Array,
  factors: readonly Factor[],
  region: Region,
  constraints: readonly LinearConstraint[],
): Float64Array | null {
  const sets = [
    regionProjection(region, factors),
    ...constraints.map((c) => halfSpace(c, factors)),
  ];
  const x = settings.slice();
  if (sets.length === 1) {
    sets[0]!(x);
    return x;
  }
  const kept = sets.map(() => new Float64Array(x.length));
  for (let round = 0; round < 400; round++) {
    let moved = 0;
    for (const [s, project] of sets.entries()) {
      const memory = kept[s]!;
      const before = x.map((value, i) => value + memory[i]!);
      const after = before.slice();
      project(after);
      for (let i = 0; i < x.length; i++) {
        memory[i] = before[i]! - after[i]!;
        moved = Math.max(moved, Math.abs(after[i]! - x[i]!));
        x[i] = after[i]!;
      }
    }
    if (moved < 1e-12) break;
  }
  const slack = 1e-8;
  const holds = sets.every((project) => {
    const copy = x.slice();
    project(copy);
    return copy.every((value, i) => Math.abs(value - x[i]!) <= slack);
  });
  return holds ? x : null;
}

type Projection = (x: Float64Array) => void;

function regionProjection(region: Region, factors: readonly Factor[]): Projection {
  const numeric = factors.flatMap((factor, i) => (isNamed(factor) ? [] : [i]));
  if (region.kind === 'box') {
    const { halfWidth } = region;
    return (x) => {
      for (const i of numeric) x[i] = Math.max(-halfWidth, Math.min(halfWidth, x[i]!));
    };
  }
  return (x) => {
    let length = 0;
    for (const i of numeric) length += x[i]! * x[i]!;
    length = Math.sqrt(length);
    if (length > region.radius) for (const i of numeric) x[i]! *= region.radius / length;
  };
}

function halfSpace(
  { coefficients, atMost }: LinearConstraint,
  factors: readonly Factor[],
): Projection {
  const weights = Float64Array.from(factors, (factor) => coefficients[factor.name] ?? 0);
  const size = weights.reduce((sum, value) => sum + value * value, 0);
  return (x) => {
    let sum = 0;
    for (let i = 0; i < x.length; i++) sum += weights[i]! * x[i]!;
    if (sum <= atMost || size === 0) return;
    for (let i = 0; i < x.length; i++) x[i]! -= (weights[i]! * (sum - atMost)) / size;
  };
}
