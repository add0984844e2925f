import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';
import { scrambledHalton } from '../random/scrambled-halton.ts';
import { seededUniform } from '../random/uniform.ts';
import {
  type AxisRange,
  farthestKept,
  type Probability,
  type WindowOf,
  worstInBox,
} from './acceptable-window.ts';
import { keepsLimits, type LinearLimit } from './linear-limits.ts';
import { patternSearch } from './pattern-search.ts';

/** A box of settings round its centre that all keep a probability. */
export type LargestBox =
  | {
      readonly kind: 'found';
      readonly centre: Float64Array;
      /** Half-widths of the free factors, coded. */
      readonly halfWidths: readonly number[];
    }
  /** No setting keeps the probability; the best one is told. */
  | { readonly kind: 'nowhere'; readonly best: Float64Array; readonly probability: number }
  /** Settings keep the probability, but none of those seen is wanted; the likeliest one is told. */
  | { readonly kind: 'none wanted'; readonly best: Float64Array; readonly probability: number }
  | { readonly kind: 'nothing feasible' };

export interface LargestBoxOf {
  readonly factors: readonly Factor[];
  readonly limits: readonly LinearLimit[];
  readonly probability: Probability;
  readonly asked: number;
  /** Settings that may be the centre, beside keeping the probability; all when left out. */
  readonly isWanted?: (settings: Float64Array) => boolean;
  /** Places to start from, beside the search's own. */
  readonly starts?: readonly Float64Array[];
  readonly seed: number;
}

const LOOKED = 256;
const CLIMBED = 3;
const HALVINGS = 5;

/**
 * The centre of the largest box inside the region that keeps a probability: the most room on all
 * sides. A quasi-random look for places that conform, then a pattern search for the centre whose
 * symmetric box, in proportion to its single ranges, is largest in volume. The same seed gives the
 * same answer.
 */
export function largestBox(request: LargestBoxOf): LargestBox {
  const { factors, limits, probability, asked, isWanted = () => true } = request;
  const free = factors.flatMap((factor, i) => (isNamed(factor) ? [] : [i]));
  const axes = free.map((i) => {
    const axis = new Float64Array(factors.length);
    axis[i] = 1;
    return axis;
  });
  const looked = startingPlaces(request, free)
    .map((at) => ({ at, chance: probability(at) }))
    .sort((a, b) => b.chance - a.chance);
  const first = looked[0];
  if (!first) return { kind: 'nothing feasible' };
  const top = patternSearch(first.at, axes, (at) =>
    keepsLimits(at, limits) ? probability(at) : Number.NEGATIVE_INFINITY,
  );
  if (top.score < asked) return { kind: 'nowhere', best: top.at, probability: top.score };
  const half = (at: Float64Array): number[] | null => {
    if (!keepsLimits(at, limits) || probability(at) < asked) return null;
    return symmetricBox({ centre: at, probability, limits, asked, axes });
  };
  const score = (at: Float64Array): number => {
    if (!isWanted(at)) return Number.NEGATIVE_INFINITY;
    const widths = half(at);
    if (!widths) return Number.NEGATIVE_INFINITY;
    return widths.reduce((sum, width) => sum + Math.log(width + 1e-3), 0);
  };
  const starts = [top.at, ...looked.map(({ at }) => at)].filter(
    (at) => probability(at) >= asked && isWanted(at),
  );
  if (starts.length === 0) return { kind: 'none wanted', best: top.at, probability: top.score };
  const best = starts
    .slice(0, CLIMBED)
    .map((at) => patternSearch(at, axes, score))
    .reduce((a, b) => (b.score > a.score ? b : a));
  return { kind: 'found', centre: best.at, halfWidths: half(best.at) ?? free.map(() => 0) };
}

/** Given starts, then quasi-random places of every combination of named levels, that keep the limits. */
function startingPlaces(
  { factors, limits, starts = [], seed }: LargestBoxOf,
  free: readonly number[],
): Float64Array[] {
  const sequence = scrambledHalton(factors.length, seededUniform(seed, 'largest box'));
  const u = new Float64Array(factors.length);
  const out = [...starts];
  for (let i = 0; i < LOOKED; i++) {
    sequence.pointInto(u, i);
    out.push(
      Float64Array.from(factors, (factor, f) =>
        isNamed(factor) ? Math.floor(u[f]! * factor.levels.length) : 2 * u[f]! - 1,
      ),
    );
    // The same place drawn in: limits often cut the corners off.
    const inner = out.at(-1)!.slice();
    for (const f of free) inner[f]! /= 2;
    out.push(inner);
  }
  return out.filter((at) => keepsLimits(at, limits));
}

/** Half-widths of the symmetric box in proportion to the nearer end of each single range. */
function symmetricBox(request: WindowOf): number[] {
  const reach = request.axes.map((axis) =>
    Math.min(farthestKept(request, axis, 1), farthestKept(request, axis, -1)),
  );
  const box = (share: number): AxisRange[] =>
    reach.map((width) => ({ low: -share * width, high: share * width }));
  let [low, high] = [0, 1];
  if (worstInBox(request, box(1), request.asked) >= request.asked) low = 1;
  for (let n = 0; n < HALVINGS && low < 1; n++) {
    const middle = (low + high) / 2;
    if (worstInBox(request, box(middle), request.asked) >= request.asked) low = middle;
    else high = middle;
  }
  return reach.map((width) => low * width);
}
