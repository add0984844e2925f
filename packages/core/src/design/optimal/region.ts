import { DomainError, nearestName } from '../../error/domain-error.ts';
import type { Point } from '../../factor/coding.ts';
import { type Factor, isNamed } from '../../factor/factor.ts';
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

/** Coded values closer than this are one setting. */
export const SAME = 1e-9;

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

/** True when the point at `offset` matches every entry of the rule. */
export function matches(
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
