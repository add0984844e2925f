import { DomainError, nearestName } from '../../error/domain-error.ts';
import type { Point } from '../../factor/coding.ts';
import { type Factor, isNamed } from '../../factor/factor.ts';
import type { LinearConstraint } from '../design.ts';
import { interiorPoint } from './interior-point.ts';
import type { ForbiddenCombination, OptimalProblem } from './problem.ts';

/** A forbidden combination on encoded coordinates: every `index` within its stretch. */
export interface ForbiddenRule {
  readonly index: Int32Array;
  readonly from: Float64Array;
  readonly to: Float64Array;
}

/**
 * Where runs may lie, on encoded coordinates: a numeric factor is its coded value, a named one the
 * index of its level. `a` (m, k) and `b` (m) hold the linear limits a·x ≤ b.
 */
export interface Region {
  readonly factors: readonly Factor[];
  /** Values of a factor that takes only some, null when it is continuous on [−1, 1]. */
  readonly levels: readonly (Float64Array | null)[];
  readonly a: Float64Array;
  readonly b: Float64Array;
  readonly forbidden: readonly ForbiddenRule[];
}

const SAME = 1e-9; // coded values closer than this are one setting

/**
 * @throws {DomainError} `unknown_factor` when a limit or forbidden combination names no factor
 * @throws {DomainError} `not_numeric` when a linear limit weighs a factor with named levels
 * @throws {DomainError} `unknown_level` when a forbidden combination names no level
 * @throws {DomainError} `bad_levels` when the levels of a numeric factor are empty or leave [−1, 1]
 */
export function regionOf(
  problem: Pick<OptimalProblem, 'factors' | 'levels' | 'constraints' | 'forbidden'>,
): Region {
  const { factors, constraints = [], forbidden = [] } = problem;
  const k = factors.length;
  const a = new Float64Array(constraints.length * k);
  for (const [i, { coefficients, says }] of constraints.entries()) {
    for (const [name, weight] of Object.entries(coefficients)) {
      const j = factorIndex(factors, name, `limit "${says}"`);
      if (isNamed(factors[j]!)) {
        throw new DomainError(
          'not_numeric',
          `optimalDesign: a linear limit must weigh numeric factors only; got "${name}" (limit "${says}"). Use a forbidden combination for named levels.`,
          { factor: name },
        );
      }
      a[i * k + j] = weight;
    }
  }
  return {
    factors,
    levels: factors.map((factor) => factorLevels(factor, problem.levels?.[factor.name])),
    a,
    b: Float64Array.from(constraints, ({ atMost }) => atMost),
    forbidden: forbidden.map((combination) => forbiddenRule(combination, factors)),
  };
}

function factorIndex(factors: readonly Factor[], name: string, where: string): number {
  const at = factors.findIndex((factor) => factor.name === name);
  if (at >= 0) return at;
  const known = factors.map((factor) => factor.name);
  const near = nearestName(name, known);
  throw new DomainError(
    'unknown_factor',
    `optimalDesign: a limit must use known factors; got "${name}" (${where}). ${near ? `Did you mean "${near}"?` : `Known: ${known.join(', ')}.`}`,
    { factor: name },
  );
}

function factorLevels(factor: Factor, given: readonly number[] | undefined): Float64Array | null {
  if (isNamed(factor)) return Float64Array.from(factor.levels, (_, i) => i);
  if (given === undefined) return null;
  const inside = given.every((level) => level >= -1 - SAME && level <= 1 + SAME);
  if (given.length === 0 || !inside) {
    throw new DomainError(
      'bad_levels',
      `optimalDesign: levels of "${factor.name}" must be coded values from -1 to 1, one at least; got [${given.join(', ')}]. Give coded levels.`,
      { factor: factor.name, levels: given },
    );
  }
  return Float64Array.from(new Set(given)).sort();
}

function forbiddenRule(
  combination: ForbiddenCombination,
  factors: readonly Factor[],
): ForbiddenRule {
  const entries = Object.entries(combination).map(([name, wanted]) => {
    const index = factorIndex(factors, name, 'forbidden combination');
    const [from, to] = stretchOf(factors[index]!, wanted);
    return { index, from, to };
  });
  return {
    index: Int32Array.from(entries, ({ index }) => index),
    from: Float64Array.from(entries, ({ from }) => from),
    to: Float64Array.from(entries, ({ to }) => to),
  };
}

function stretchOf(factor: Factor, wanted: ForbiddenCombination[string]): [number, number] {
  if (isNamed(factor)) {
    const at = typeof wanted === 'string' ? factor.levels.indexOf(wanted) : -1;
    if (at >= 0) return [at, at];
    throw new DomainError(
      'unknown_level',
      `optimalDesign: a forbidden combination must name a level of "${factor.name}" (${factor.levels.join(', ')}); got ${JSON.stringify(wanted)}. Use one of these.`,
      { factor: factor.name, levels: factor.levels },
    );
  }
  if (typeof wanted === 'number') return [wanted, wanted];
  if (typeof wanted === 'object') return [wanted.from, wanted.to];
  throw new DomainError(
    'not_numeric',
    `optimalDesign: a forbidden combination must give "${factor.name}" a coded number or a stretch; got ${JSON.stringify(wanted)}.`,
    { factor: factor.name },
  );
}

/** True when nothing but the box and the levels limits the region. */
export function isUnlimited({ b, forbidden }: Region): boolean {
  return b.length === 0 && forbidden.length === 0;
}

/**
 * Narrow `stretch` = [low, high] of coordinate `j` to what the linear limits allow, the other
 * coordinates of the point at `offset` held.
 */
export function narrowStretchInto(
  stretch: Float64Array,
  { a, b, factors }: Region,
  at: { readonly points: Float64Array; readonly offset: number; readonly j: number },
): void {
  const { points, offset, j } = at;
  const k = factors.length;
  for (let i = 0; i < b.length; i++) {
    const weight = a[i * k + j]!;
    if (weight === 0) continue;
    let room = b[i]!;
    for (let c = 0; c < k; c++) if (c !== j) room -= a[i * k + c]! * points[offset + c]!;
    const limit = room / weight;
    if (weight > 0) {
      if (limit < stretch[1]!) stretch[1] = limit;
    } else if (limit > stretch[0]!) stretch[0] = limit;
  }
}

/** True when the point at `offset` matches a forbidden combination. */
export function isForbidden({ forbidden }: Region, points: Float64Array, offset = 0): boolean {
  return forbidden.some((rule) => matches(rule, points, offset));
}

function matches(
  { index, from, to }: ForbiddenRule,
  points: Float64Array,
  offset: number,
): boolean {
  for (let c = 0; c < index.length; c++) {
    const value = points[offset + index[c]!]!;
    if (value < from[c]! - SAME || value > to[c]! + SAME) return false;
  }
  return true;
}

/** True when the point at `offset` keeps the box, every linear limit and no forbidden combination. */
export function isInside(region: Region, points: Float64Array, offset = 0): boolean {
  const { a, b, factors } = region;
  const k = factors.length;
  for (let i = 0; i < b.length; i++) {
    let sum = -b[i]!;
    for (let c = 0; c < k; c++) sum += a[i * k + c]! * points[offset + c]!;
    if (sum > SAME * Math.max(1, Math.abs(b[i]!))) return false;
  }
  return !isForbidden(region, points, offset);
}

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

/** Encoded coordinates of a point written into `out` at `offset`. */
export function encodeInto(
  out: Float64Array,
  point: Point,
  { factors, offset }: { readonly factors: readonly Factor[]; readonly offset: number },
): void {
  for (const [j, factor] of factors.entries()) {
    const value = point[factor.name];
    const code = isNamed(factor) ? factor.levels.indexOf(String(value)) : Number(value);
    if (value === undefined || !Number.isFinite(code) || (isNamed(factor) && code < 0)) {
      throw new DomainError(
        'missing_setting',
        `optimalDesign: an included run must set "${factor.name}"; got ${JSON.stringify(value) ?? 'nothing'}. Give every factor a coded value or a level.`,
        { factor: factor.name },
      );
    }
    out[offset + j] = code;
  }
}

/** The point at `offset` with coded numbers and level names. */
export function decodedPoint(
  points: Float64Array,
  offset: number,
  factors: readonly Factor[],
): Point {
  const out: Record<string, number | string> = {};
  for (const [j, factor] of factors.entries()) {
    const value = points[offset + j]!;
    // Adding zero turns −0 into 0.
    out[factor.name] = isNamed(factor) ? factor.levels[value]! : value + 0;
  }
  return out;
}
