import {
  codedValue,
  isNumeric,
  type NumericFactor,
  type Point,
  pointFromSettings,
  type ResponseSurface,
  type StudyState,
  settingsOf,
} from '@strandwise/core';
import { attempts } from './attempt.ts';
import type { PagedStudy } from './paged-study.ts';

/** Grid lines either way. */
export const steps = 33;

/** Positions of two numeric factors. */
export type Pair = readonly [x: number, y: number];

/** A factor with the stretch of it that is drawn: its range, and any run beyond that rounding made. */
export interface DrawnFactor {
  readonly factor: NumericFactor;
  readonly low: number;
  readonly high: number;
}

/** A plane through the recipe, with everything that is drawn on it and does not depend on a response. */
export interface Plane {
  readonly x: DrawnFactor;
  readonly y: DrawnFactor;
  /** Coded settings of the grid points, row-major, lowest y first. */
  readonly grid: readonly Float64Array[];
  /** How far inside the limits of line and grade each grid point is; negative is not allowed. */
  readonly room: readonly number[];
  /** Chance of conforming on the grid; null when it cannot be judged. */
  readonly chance: readonly number[] | null;
}

/** Coded settings everything is pinned at: the recipe, else the centre. */
export function pinned({ state, recipe }: Pick<PagedStudy, 'state' | 'recipe'>): Float64Array {
  const { factors } = state.opened;
  return recipe ? settingsOf(recipe.coded, factors) : new Float64Array(factors.length);
}

/** Positions of the numeric factors. */
export const numericPositions = ({ opened }: StudyState): number[] =>
  opened.factors.flatMap((factor, i) => (isNumeric(factor) ? [i] : []));

/** Every pair of positions. */
export function pairsOf(positions: readonly number[]): Pair[] {
  return positions.flatMap((x, a) => positions.slice(a + 1).map((y): Pair => [x, y]));
}

/** Pairs over which a surface moves, the widest first; each next one brings a new factor while it can. */
export function importantPairs(study: PagedStudy, surface: ResponseSurface): Pair[] {
  const { factors } = study.state.opened;
  const used = new Set(surface.terms.flatMap((powers) => Object.keys(powers)));
  const positions = numericPositions(study.state).filter((i) => used.has(factors[i]!.name));
  const all = positions.length >= 2 ? positions : numericPositions(study.state);
  if (positions.length === 0) return [];
  return orderedPairs(pairsOf(all), (pair) => spanOver(pinned(study), pair, surface.mean));
}

/** Largest less smallest value over the plane of a pair. */
export function spanOver(
  centre: Float64Array,
  [x, y]: Pair,
  value: (at: Float64Array) => number,
): number {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = -2; i <= 2; i++)
    for (let j = -2; j <= 2; j++) {
      const at = centre.slice();
      at[x] = i / 2;
      at[y] = j / 2;
      const v = value(at);
      if (v < low) low = v;
      if (v > high) high = v;
    }
  return high - low;
}

/** Pairs by their span, each next one with a factor that was not shown yet while there is one. */
export function orderedPairs(pairs: readonly Pair[], span: (pair: Pair) => number): Pair[] {
  const left = pairs.map((pair) => ({ pair, span: span(pair) })).sort((a, b) => b.span - a.span);
  const out: Pair[] = [];
  const seen = new Set<number>();
  while (left.length > 0) {
    const fresh = left.findIndex(({ pair }) => pair.some((i) => !seen.has(i)));
    const [next] = left.splice(Math.max(0, fresh), 1);
    for (const i of next!.pair) seen.add(i);
    out.push(next!.pair);
  }
  return out;
}

/** The plane of a pair. */
export function plane(study: PagedStudy, [i, j]: Pair): Plane {
  const { state, predictor, chance } = study;
  const { factors } = state.opened;
  const [x, y] = [drawn(state, i), drawn(state, j)];
  const centre = pinned(study);
  const along = ({ factor, low, high }: DrawnFactor, step: number): number =>
    codedValue(low + ((high - low) * step) / (steps - 1), factor);
  const grid = Array.from({ length: steps * steps }, (_, k) => {
    const at = centre.slice();
    at[i] = along(x, k % steps);
    at[j] = along(y, Math.floor(k / steps));
    return at;
  });
  return {
    x,
    y,
    grid,
    room: grid.map((at) => roomAt(pointFromSettings(at, factors), predictor.constraints)),
    chance: chance && grid.map((at) => chance(at)),
  };
}

function drawn(state: StudyState, i: number): DrawnFactor {
  const factor = state.opened.factors[i]!;
  if (!isNumeric(factor)) throw new TypeError('a plane needs two numeric factors');
  const run = attempts(state).map(({ natural }) => Number(natural[factor.name]));
  return { factor, low: Math.min(factor.low, ...run), high: Math.max(factor.high, ...run) };
}

function roomAt(coded: Point, constraints: PagedStudy['predictor']['constraints']): number {
  return constraints.reduce((least, { coefficients, atMost }) => {
    let sum = 0;
    for (const [name, weight] of Object.entries(coefficients)) sum += weight * Number(coded[name]);
    return Math.min(least, atMost - sum);
  }, 1e9);
}
