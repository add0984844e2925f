import { quadraticForm } from '../canonical/stationary-point.ts';
import { naturalPoint, type Point } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';
import { symmetricEigen } from '../linear/eigen.ts';
import { centredRow } from './factor-effect.ts';
import {
  combinationEstimate,
  type Estimate,
  estimateBack,
  type ResponseSurface,
} from './response-surface.ts';

/** The best place on one sphere round the centre. */
export interface RidgePoint {
  /** Distance from the centre, coded. */
  readonly radius: number;
  readonly coded: Point;
  readonly natural: Point;
  /** Mean of the response there, in its own unit, with its interval. */
  readonly mean: Estimate;
}

export type RidgePath =
  | {
      readonly kind: 'path';
      readonly aim: 'smallest' | 'largest';
      readonly points: readonly RidgePoint[];
    }
  | { readonly kind: 'not-second-order' };

export interface RidgePathOf {
  readonly surface: ResponseSurface;
  readonly factors: readonly Factor[];
  readonly aim: 'smallest' | 'largest';
  /** Farthest radius, coded; 1.5 when left out. */
  readonly farthest?: number;
  readonly steps?: number;
}

/**
 * Ridge path: the largest (or smallest) mean on spheres of growing radius round the centre.
 *
 * On a sphere of radius R the best place solves (B − μI)x = −½b with |x| = R, where μ lies above the
 * largest eigenvalue of B for a maximum and below the smallest for a minimum; |x| falls steadily as
 * μ goes out, so one bisection finds it. Where b has no part along the outermost eigenvector the
 * path leaves the centre's side by either sign; the positive one is taken. Named factors are
 * averaged over and stand at their first level in the points.
 *
 * @source Draper (1963), "Ridge analysis" of response surfaces, Technometrics 5:469–479
 */
export function ridgePath({
  surface,
  factors,
  aim,
  farthest = 1.5,
  steps = 15,
}: RidgePathOf): RidgePath {
  const isSecondOrder = surface.terms.every(
    (powers) =>
      Object.values(powers).reduce<number>((sum, p) => sum + (typeof p === 'number' ? p : 0), 0) <=
      2,
  );
  if (!isSecondOrder) return { kind: 'not-second-order' };
  const sign = aim === 'largest' ? 1 : -1;
  const form = quadraticForm(surface.terms, surface.coefficients, factors);
  const k = form.factors.length;
  const b = form.linear.map((value) => sign * value);
  const { values, vectors } = symmetricEigen({
    ...form.quadratic,
    data: form.quadratic.data.map((value) => sign * value),
  });
  const pulls = Float64Array.from({ length: k }, (_, j) => {
    let sum = 0;
    for (let i = 0; i < k; i++) sum += vectors.data[i * k + j]! * b[i]!;
    return sum;
  });
  const points = Array.from({ length: steps + 1 }, (_, step) => {
    const radius = (farthest * step) / steps;
    const along = onSphere(pulls, values, radius);
    const settings = new Float64Array(factors.length);
    for (const [a, { name }] of form.factors.entries()) {
      let x = 0;
      for (let j = 0; j < k; j++) x += vectors.data[a * k + j]! * along[j]!;
      settings[factors.findIndex((factor) => factor.name === name)] = x;
    }
    return ridgePoint(surface, factors, settings, radius);
  });
  return { kind: 'path', aim, points };
}

/** The maximum of pulls·z + Σ values·z² on |z| = radius, in the basis of the eigenvectors. */
function onSphere(pulls: Float64Array, values: Float64Array, radius: number): Float64Array {
  const k = pulls.length;
  if (radius === 0 || k === 0) return new Float64Array(k);
  const top = values[0]!;
  const size = Math.hypot(...pulls);
  const at = (mu: number): Float64Array => pulls.map((pull, j) => pull / (2 * (mu - values[j]!)));
  const scale = Math.max(1e-300, size, Math.abs(top), Math.abs(values.at(-1)!));
  let low = top + 1e-14 * scale;
  const nearest = at(low);
  const hardGap = radius * radius - nearest.reduce((sum, z) => sum + z * z, 0);
  if (hardGap > 0) {
    // b has (next to) no part along the top eigenvector: the rest is made up along it.
    nearest[0] = Math.sqrt(nearest[0]! ** 2 + hardGap);
    return nearest;
  }
  let high = top + size / (2 * radius) + scale * 1e-12;
  for (let step = 0; step < 200 && high - low > 1e-15 * Math.max(Math.abs(low), scale); step++) {
    const middle = (low + high) / 2;
    if (Math.hypot(...at(middle)) > radius) low = middle;
    else high = middle;
  }
  const found = at((low + high) / 2);
  const length = Math.hypot(...found);
  return found.map((z) => (z * radius) / length);
}

function ridgePoint(
  surface: ResponseSurface,
  factors: readonly Factor[],
  settings: Float64Array,
  radius: number,
): RidgePoint {
  const coded: Record<string, number | string> = {};
  for (const [i, factor] of factors.entries())
    coded[factor.name] = isNamed(factor) ? factor.levels[0]! : settings[i]!;
  return {
    radius,
    coded,
    natural: naturalPoint(coded, factors),
    mean: estimateBack(surface, combinationEstimate(surface, centredRow(surface, settings))),
  };
}
