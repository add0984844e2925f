import type { LinearConstraint } from '../design.ts';
import { interiorPoint } from './interior-point.ts';
import type { ForbiddenCombination, OptimalProblem } from './problem.ts';
import { matches, type Region, regionOf, SAME } from './region.ts';

const MOST_COMBINATIONS = 2048;

/**
 * One deep point for each combination of the discrete levels that the limits look at (at most 2048
 * combinations are visited). Empty when nothing is feasible.
 */
export function feasibleCentres(region: Region): Float64Array[] {
  const k = region.factors.length;
  const involved = [...Array(k).keys()].filter((j) => region.levels[j] && isInvolved(region, j));
  let total = 1;
  for (const j of involved) total *= region.levels[j]!.length;
  const stride = Math.max(1, Math.ceil(total / MOST_COMBINATIONS));
  const centres: Float64Array[] = [];
  for (let code = 0; code < total; code += stride) {
    const low = new Float64Array(k).fill(-1);
    const high = new Float64Array(k).fill(1);
    for (let j = 0; j < k; j++) {
      const levels = region.levels[j];
      if (levels) low[j] = high[j] = levels[Math.floor(levels.length / 2)]!;
    }
    let rest = code;
    for (const j of involved) {
      const levels = region.levels[j]!;
      low[j] = high[j] = levels[rest % levels.length]!;
      rest = Math.floor(rest / levels.length);
    }
    const centre = deepestPoint(region, { low, high }, 0);
    if (centre) centres.push(centre);
  }
  return centres;
}

function isInvolved({ a, b, forbidden, factors }: Region, j: number): boolean {
  for (let i = 0; i < b.length; i++) if (a[i * factors.length + j] !== 0) return true;
  return forbidden.some((rule) => rule.index.includes(j));
}

interface Box {
  readonly low: Float64Array;
  readonly high: Float64Array;
}

const STEP_ASIDE = 1e-6; // how far outside a forbidden stretch a point is placed
const DEEPEST_BRANCHING = 12;

/** The deepest point of a box that no rule forbids: where one does, try each side of its stretches. */
function deepestPoint(region: Region, box: Box, branching: number): Float64Array | undefined {
  const point = deepestIgnoringRules(region, box);
  if (!point) return undefined;
  const rule = region.forbidden.find((candidate) => matches(candidate, point, 0));
  if (!rule) return point;
  if (branching >= DEEPEST_BRANCHING) return undefined;
  for (let c = 0; c < rule.index.length; c++) {
    const j = rule.index[c]!;
    if (box.low[j] === box.high[j]) continue;
    for (const side of [0, 1]) {
      const low = Float64Array.from(box.low);
      const high = Float64Array.from(box.high);
      if (side === 0) high[j] = Math.min(high[j]!, rule.from[c]! - STEP_ASIDE);
      else low[j] = Math.max(low[j]!, rule.to[c]! + STEP_ASIDE);
      if (low[j]! > high[j]!) continue;
      const found = deepestPoint(region, { low, high }, branching + 1);
      if (found) return found;
    }
  }
  return undefined;
}

function deepestIgnoringRules({ a, b, factors }: Region, box: Box): Float64Array | undefined {
  const k = factors.length;
  const free = [...Array(k).keys()].filter((j) => box.low[j]! < box.high[j]!);
  const m = b.length;
  const freeA = new Float64Array(m * free.length);
  const freeB = Float64Array.from(b);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < k; j++) {
      if (box.low[j] === box.high[j]) freeB[i]! -= a[i * k + j]! * box.low[j]!;
    }
    for (const [f, j] of free.entries()) freeA[i * free.length + f] = a[i * k + j]!;
  }
  const { point, depth } = interiorPoint(freeA, freeB, {
    low: Float64Array.from(free, (j) => box.low[j]!),
    high: Float64Array.from(free, (j) => box.high[j]!),
  });
  if (depth < -SAME) return undefined;
  const out = Float64Array.from(box.low);
  for (const [f, j] of free.entries()) out[j] = point[f]!;
  return out;
}

/**
 * A smallest set of limits that cannot hold together: taking any one of them away leaves room.
 * Found by dropping limits one at a time and keeping those whose loss opens the region.
 *
 * @returns indices into `constraints` and `forbidden`; null when the region is not empty
 */
export function conflictingLimits(
  problem: Pick<OptimalProblem, 'factors' | 'levels' | 'constraints' | 'forbidden'>,
): {
  readonly constraints: readonly LinearConstraint[];
  readonly forbidden: readonly ForbiddenCombination[];
} | null {
  const isEmpty = (
    constraints: readonly LinearConstraint[],
    forbidden: readonly ForbiddenCombination[],
  ) => feasibleCentres(regionOf({ ...problem, constraints, forbidden })).length === 0;
  let constraints = problem.constraints ?? [];
  let forbidden = problem.forbidden ?? [];
  if (!isEmpty(constraints, forbidden)) return null;
  for (const candidate of forbidden) {
    const fewer = forbidden.filter((other) => other !== candidate);
    if (isEmpty(constraints, fewer)) forbidden = fewer;
  }
  for (const candidate of constraints) {
    const fewer = constraints.filter((other) => other !== candidate);
    if (isEmpty(fewer, forbidden)) constraints = fewer;
  }
  return { constraints, forbidden };
}
