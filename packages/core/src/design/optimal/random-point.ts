import type { Uniform } from '../../random/uniform.ts';
import { isForbidden, isUnlimited, narrowStretchInto, type Region } from './region.ts';

/** Coordinates to draw afresh, and how the point at `offset` may move. */
interface Redraw {
  readonly points: Float64Array;
  readonly offset: number;
  readonly factors: Iterable<number>;
}

/**
 * Redraw coordinates of a feasible point one after another, each uniformly on what the limits leave
 * open with the others held (a Gibbs sweep). The point stays feasible at every step.
 */
export function redrawInto(
  region: Region,
  { points, offset, factors }: Redraw,
  uniform: Uniform,
): void {
  const stretch = new Float64Array(2);
  for (const j of factors) {
    const before = points[offset + j]!;
    stretch[0] = -1;
    stretch[1] = 1;
    const levels = region.levels[j];
    if (levels) {
      stretch[0] = Number.NEGATIVE_INFINITY;
      stretch[1] = Number.POSITIVE_INFINITY;
    }
    narrowStretchInto(stretch, region, { points, offset, j });
    const [low, high] = stretch as unknown as [number, number];
    if (levels) {
      const open = levels.filter((value) => value >= low - 1e-9 && value <= high + 1e-9);
      if (open.length > 0) points[offset + j] = open[Math.floor(uniform() * open.length)]!;
      else uniform();
    } else {
      const u = uniform();
      if (high > low) points[offset + j] = low + u * (high - low);
    }
    if (region.forbidden.length > 0 && isForbidden(region, points, offset)) {
      points[offset + j] = before;
    }
  }
}

/** A random point: uniform in the free box, else some Gibbs sweeps from a random feasible centre. */
export function randomPointInto(
  out: Float64Array,
  region: Region,
  {
    centres,
    uniform,
    sweeps = 3,
  }: {
    readonly centres: readonly Float64Array[];
    readonly uniform: Uniform;
    readonly sweeps?: number;
  },
): void {
  const all = region.factors.keys();
  if (isUnlimited(region)) {
    redrawInto(region, { points: out, offset: 0, factors: all }, uniform);
    return;
  }
  out.set(centres[Math.floor(uniform() * centres.length)]!);
  for (let sweep = 0; sweep < sweeps; sweep++) {
    redrawInto(region, { points: out, offset: 0, factors: region.factors.keys() }, uniform);
  }
}
