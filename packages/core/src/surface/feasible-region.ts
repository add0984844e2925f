import type { LinearConstraint } from '../design/design.ts';
import { type Factor, isNamed } from '../factor/factor.ts';

/** Where settings may be sought, in coded units; named levels are not limited by it. */
export type Region =
  | { readonly kind: 'box'; readonly halfWidth: number }
  | { readonly kind: 'sphere'; readonly radius: number };

const ROUNDS = 400;
const SLACK = 1e-8;

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
  return feasibleProjection(factors, region, constraints)(settings);
}

/** `nearestFeasible` made ready for many points of one region. */
export function feasibleProjection(
  factors: readonly Factor[],
  region: Region,
  constraints: readonly LinearConstraint[],
): (settings: Float64Array) => Float64Array | null {
  const bound = regionProjection(region, factors);
  const spaces = constraints.map((constraint) => halfSpace(constraint, factors));
  const sets = [bound, ...spaces];
  const memory = sets.map(() => new Float64Array(factors.length));
  const before = new Float64Array(factors.length);
  const trial = new Float64Array(factors.length);
  const keepsAll = (x: Float64Array): boolean =>
    sets.every((project) => {
      trial.set(x);
      project(trial);
      return trial.every((value, i) => Math.abs(value - x[i]!) <= SLACK);
    });
  return (settings) => {
    const x = settings.slice();
    bound(x);
    // What the region's own projection makes feasible is already the nearest point of the whole.
    if (spaces.length === 0 || keepsAll(x)) return x;
    x.set(settings);
    for (const kept of memory) kept.fill(0);
    for (let round = 0; round < ROUNDS; round++) {
      let moved = 0;
      for (let s = 0; s < sets.length; s++) {
        const kept = memory[s]!;
        for (let i = 0; i < x.length; i++) before[i] = x[i]! + kept[i]!;
        trial.set(before);
        sets[s]!(trial);
        for (let i = 0; i < x.length; i++) {
          kept[i] = before[i]! - trial[i]!;
          moved = Math.max(moved, Math.abs(trial[i]! - x[i]!));
          x[i] = trial[i]!;
        }
      }
      if (moved < 1e-12) break;
    }
    return keepsAll(x) ? x : null;
  };
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
