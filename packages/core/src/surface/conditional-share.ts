import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';
import { scrambledHalton } from '../random/scrambled-halton.ts';
import { seededUniform } from '../random/uniform.ts';
import { keepsLimits, type LinearLimit, lineInside } from './linear-limits.ts';
import type { ResponseSurface } from './response-surface.ts';

const SAMPLES = 4096;
const MOST_TRIES = 40 * SAMPLES;
const BINS = 48;

/** Nodes and weights of the five-point Gauss–Legendre rule on −1…1: exact to power nine. */
const NODES = [0, 0.5384693101056831, 0.906179845938664];
const WEIGHTS = [0.5688888888888889, 0.47862867049936647, 0.23692688505618908];

/** Variance of a surface over a cut region and each factor's shares; in the order of the factors. */
export interface ConditionalShares {
  readonly variance: number;
  readonly alone: Float64Array;
  readonly total: Float64Array;
}

/**
 * Shares over a region where factors depend on each other.
 *
 * Total: the mean, over places in the region, of the variance along the line (or the levels) through
 * the place in that factor, over the whole variance. Alone: the variance of the mean of the surface
 * in slices across the factor, less what the scatter of those means would give by itself.
 */
export function conditionalShares(
  surface: ResponseSurface,
  factors: readonly Factor[],
  limits: readonly LinearLimit[],
  seed: number,
): ConditionalShares {
  const places = placesInside(factors, limits, seed);
  const values = Float64Array.from(places, surface.mean);
  const { mean, variance } = moments(values);
  const scale = variance > 0 ? 1 / variance : 0;
  const total = Float64Array.from(factors, (_, f) => {
    let sum = 0;
    for (const place of places) sum += lineVariance(surface, place, f, { factors, limits });
    return Math.min(1, (scale * sum) / places.length);
  });
  const alone = Float64Array.from(factors, (factor, f) =>
    Math.min(total[f]!, scale * sliceVariance(places, values, f, { factor, mean })),
  );
  return { variance, alone, total };
}

/** Quasi-random settings inside the limits; named factors take their levels evenly. */
export function placesInside(
  factors: readonly Factor[],
  limits: readonly LinearLimit[],
  seed: number,
  count = SAMPLES,
): Float64Array[] {
  const sequence = scrambledHalton(factors.length, seededUniform(seed, 'places inside'));
  const u = new Float64Array(factors.length);
  const out: Float64Array[] = [];
  for (let i = 0; i < MOST_TRIES && out.length < count; i++) {
    sequence.pointInto(u, i);
    const settings = Float64Array.from(factors, (factor, f) =>
      isNamed(factor) ? Math.floor(u[f]! * factor.levels.length) : 2 * u[f]! - 1,
    );
    if (keepsLimits(settings, limits)) out.push(settings);
  }
  return out;
}

interface Where {
  readonly factors: readonly Factor[];
  readonly limits: readonly LinearLimit[];
}

/** Variance of the surface along one factor through a place, all of its settings inside alike. */
function lineVariance(
  surface: ResponseSurface,
  place: Float64Array,
  f: number,
  { factors, limits }: Where,
): number {
  const factor = factors[f]!;
  const at = place.slice();
  if (isNamed(factor)) {
    const values = Float64Array.from(factor.levels, (_, level) => {
      at[f] = level;
      return surface.mean(at);
    });
    return moments(values).variance;
  }
  const axis = new Float64Array(place.length);
  axis[f] = 1;
  const { from, to } = lineInside(place, axis, limits);
  const middle = place[f]! + (from + to) / 2;
  const half = (to - from) / 2;
  let mean = 0;
  let square = 0;
  for (const [n, node] of NODES.entries()) {
    for (const side of node === 0 ? [1] : [1, -1]) {
      at[f] = middle + side * half * node;
      const value = surface.mean(at);
      mean += (WEIGHTS[n]! / 2) * value;
      square += (WEIGHTS[n]! / 2) * value * value;
    }
  }
  return Math.max(0, square - mean * mean);
}

function sliceVariance(
  places: readonly Float64Array[],
  values: Float64Array,
  f: number,
  { factor, mean }: { readonly factor: Factor; readonly mean: number },
): number {
  const count = isNamed(factor) ? factor.levels.length : BINS;
  const sorted = places
    .map((place, i) => ({ x: place[f]!, y: values[i]! }))
    .sort((a, b) => a.x - b.x);
  let between = 0;
  for (let bin = 0; bin < count; bin++) {
    const slice = isNamed(factor)
      ? sorted.filter(({ x }) => x === bin)
      : sorted.slice(
          Math.floor((bin * sorted.length) / count),
          Math.floor(((bin + 1) * sorted.length) / count),
        );
    const n = slice.length;
    if (n < 2) continue;
    const own = slice.reduce((sum, { y }) => sum + y / n, 0);
    const within = slice.reduce((sum, { y }) => sum + (y - own) ** 2, 0) / (n - 1);
    between += (n / sorted.length) * ((own - mean) ** 2 - within / n);
  }
  return Math.max(0, between);
}

function moments(values: Float64Array): { mean: number; variance: number } {
  let mean = 0;
  for (const value of values) mean += value / values.length;
  let variance = 0;
  for (const value of values) variance += (value - mean) ** 2 / values.length;
  return { mean, variance };
}
