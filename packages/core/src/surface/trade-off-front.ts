import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';
import { standardNormal } from '../random/standard-normal.ts';
import { seededUniform, type Uniform } from '../random/uniform.ts';
import { placesInside } from './conditional-share.ts';
import { keepsLimits, type LinearLimit } from './linear-limits.ts';

/** One thing wanted, as a function of coded settings. */
export interface FrontObjective {
  readonly name: string;
  readonly value: (settings: Float64Array) => number;
  readonly aim: 'smallest' | 'largest';
}

/** A setting that nothing else beats in every objective. */
export interface FrontPlace {
  readonly settings: Float64Array;
  /** In the order of the objectives. */
  readonly values: Float64Array;
}

export interface TradeOffOf {
  readonly objectives: readonly FrontObjective[];
  readonly factors: readonly Factor[];
  readonly limits: readonly LinearLimit[];
  readonly seed: number;
  /** Most places told, spread along the front; default 40. */
  readonly most?: number;
}

const LOOKED = 2048;
const KEPT = 120;
const STEPS = [0.2, 0.1, 0.05, 0.02, 0.01];

/**
 * Non-dominated settings: those that no other found one equals or betters in every objective. A
 * quasi-random look over the region, then steps of shrinking size from every place on the front, the
 * crowded ones thinned out between. Sorted by the first objective; the same seed gives the same front.
 */
export function tradeOffFront(request: TradeOffOf): FrontPlace[] {
  const { objectives, factors, limits, seed, most = 40 } = request;
  const uniform = seededUniform(seed, 'trade-off front');
  const placed = (settings: Float64Array): FrontPlace => ({
    settings,
    values: Float64Array.from(objectives, ({ value }) => value(settings)),
  });
  const signs = objectives.map(({ aim }) => (aim === 'smallest' ? 1 : -1));
  let front = thinned(
    nonDominated(placesInside(factors, limits, seed, LOOKED).map(placed), signs),
    KEPT,
  );
  for (const step of STEPS) {
    const near = front
      .flatMap(({ settings }) => neighbours(settings, { factors, step, uniform }))
      .filter((settings) => keepsLimits(settings, limits));
    front = thinned(nonDominated([...front, ...near.map(placed)], signs), KEPT);
  }
  return thinned(front, most).sort((a, b) => signs[0]! * (a.values[0]! - b.values[0]!));
}

/** Steps along each numeric factor and in random directions; named factors at each other level. */
function neighbours(
  settings: Float64Array,
  {
    factors,
    step,
    uniform,
  }: { readonly factors: readonly Factor[]; readonly step: number; readonly uniform: Uniform },
): Float64Array[] {
  const out: Float64Array[] = [];
  const inside = (value: number): number => Math.max(-1, Math.min(1, value));
  for (const [i, factor] of factors.entries()) {
    const values = isNamed(factor)
      ? factor.levels.map((_, level) => level).filter((level) => level !== settings[i])
      : [inside(settings[i]! - step), inside(settings[i]! + step)];
    for (const value of values) {
      const at = settings.slice();
      at[i] = value;
      out.push(at);
    }
  }
  for (let n = 0; n < factors.length; n++) {
    out.push(
      settings.map((value, i) =>
        isNamed(factors[i]!) ? value : inside(value + step * standardNormal(uniform)),
      ),
    );
  }
  return out;
}

/** The places that no other place equals or betters in all objectives; of equals the first. */
export function nonDominated(
  places: readonly FrontPlace[],
  signs: readonly number[],
): FrontPlace[] {
  const sorted = [...places].sort((a, b) => {
    for (const [o, sign] of signs.entries()) {
      const gap = sign * (a.values[o]! - b.values[o]!);
      if (gap !== 0) return gap;
    }
    return 0;
  });
  const kept: FrontPlace[] = [];
  // Sorted by the first objective, a place can only be beaten by one before it.
  for (const place of sorted)
    if (!kept.some((other) => isBeaten(place, other, signs))) kept.push(place);
  return kept;
}

const isBeaten = (place: FrontPlace, by: FrontPlace, signs: readonly number[]): boolean =>
  signs.every((sign, o) => sign * (by.values[o]! - place.values[o]!) <= 0);

/** Drops the most crowded place until `most` are left; the best of each objective always stays. */
function thinned(places: readonly FrontPlace[], most: number): FrontPlace[] {
  const left = [...places];
  const count = places[0]?.values.length ?? 0;
  const ranges = Float64Array.from({ length: count }, (_, o) => {
    const values = places.map((place) => place.values[o]!);
    return Math.max(...values) - Math.min(...values) || 1;
  });
  const extremes = new Set<FrontPlace>();
  for (let o = 0; o < count; o++) {
    const by = [...places].sort((a, b) => a.values[o]! - b.values[o]!);
    if (by.length > 0) extremes.add(by[0]!).add(by.at(-1)!);
  }
  const gap = (a: FrontPlace, b: FrontPlace): number => {
    let sum = 0;
    for (let o = 0; o < count; o++) sum += ((a.values[o]! - b.values[o]!) / ranges[o]!) ** 2;
    return sum;
  };
  // Far more than wanted: keep every place at least a growing distance from those kept before.
  if (left.length > 1.25 * most) return thinned(spacedOut(left, extremes, gap, most), most);
  while (left.length > Math.max(most, extremes.size)) {
    let crowded = -1;
    let least = Number.POSITIVE_INFINITY;
    for (const [i, place] of left.entries()) {
      if (extremes.has(place)) continue;
      let nearest = Number.POSITIVE_INFINITY;
      for (const [j, other] of left.entries())
        if (i !== j) nearest = Math.min(nearest, gap(place, other));
      if (nearest < least) {
        least = nearest;
        crowded = i;
      }
    }
    if (crowded < 0) break;
    left.splice(crowded, 1);
  }
  return left;
}

function spacedOut(
  places: readonly FrontPlace[],
  extremes: ReadonlySet<FrontPlace>,
  gap: (a: FrontPlace, b: FrontPlace) => number,
  most: number,
): FrontPlace[] {
  for (let distance = 1e-3; ; distance *= 1.2) {
    const kept = [...extremes];
    for (const place of places)
      if (!extremes.has(place) && kept.every((other) => gap(place, other) > distance * distance))
        kept.push(place);
    if (kept.length <= 1.25 * most) return kept;
  }
}
