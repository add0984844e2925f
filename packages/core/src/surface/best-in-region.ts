import type { LinearLimit } from './linear-limits.ts';
import { keepsLimits, lineInside } from './linear-limits.ts';

/** A second-order surface over all settings: constant + bᵀx + xᵀQx, Q symmetric, row-major. */
export interface FullQuadratic {
  readonly constant: number;
  readonly linear: Float64Array;
  readonly quadratic: Float64Array;
}

const SWEEPS = 60;

/**
 * Settings that make a second-order surface largest inside linear limits, from several starts.
 *
 * From each start, lines are searched exactly (a parabola on a segment): along every free axis, the
 * slope, every pair of axes and the last move, until a sweep no longer helps. A surface that bends
 * upwards may have several local best places; the starts are there for those.
 *
 * @param starts - settings to begin from; those that break a limit are left out
 * @param free - positions that may move
 */
export function bestInRegion(
  surface: FullQuadratic,
  limits: readonly LinearLimit[],
  { starts, free }: { readonly starts: readonly Float64Array[]; readonly free: readonly number[] },
): { readonly at: Float64Array; readonly value: number } | null {
  let best: { at: Float64Array; value: number } | null = null;
  for (const start of starts) {
    if (!keepsLimits(start, limits)) continue;
    const found = climbed(surface, limits, start, free);
    if (!best || found.value > best.value + 1e-12) best = found;
  }
  return best;
}

/** Value of the surface at settings. */
export function quadraticValue(surface: FullQuadratic, x: Float64Array): number {
  const { constant, linear, quadratic } = surface;
  const k = x.length;
  let sum = constant;
  for (let i = 0; i < k; i++) {
    let inner = linear[i]!;
    for (let j = 0; j < k; j++) inner += quadratic[i * k + j]! * x[j]!;
    sum += x[i]! * inner;
  }
  return sum;
}

function climbed(
  surface: FullQuadratic,
  limits: readonly LinearLimit[],
  start: Float64Array,
  free: readonly number[],
): { at: Float64Array; value: number } {
  const at = start.slice();
  let value = quadraticValue(surface, at);
  const fixed = fixedDirections(at.length, free);
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    const before = at.slice();
    moveAlong(surface, limits, at, slopeAt(surface, at, free));
    for (const direction of fixed) moveAlong(surface, limits, at, direction);
    moveAlong(
      surface,
      limits,
      at,
      at.map((x, i) => x - before[i]!),
    );
    const reached = quadraticValue(surface, at);
    if (reached - value <= 1e-13 * (1 + Math.abs(reached))) break;
    value = reached;
  }
  return { at, value: quadraticValue(surface, at) };
}

/** Axes, and sums and differences of two: a limit that joins two settings can be followed. */
function fixedDirections(k: number, free: readonly number[]): Float64Array[] {
  const out: Float64Array[] = [];
  for (const [a, i] of free.entries()) {
    const axis = new Float64Array(k);
    axis[i] = 1;
    out.push(axis);
    for (const j of free.slice(a + 1)) {
      for (const sign of [1, -1]) {
        const pair = axis.slice();
        pair[j] = sign;
        out.push(pair);
      }
    }
  }
  return out;
}

function slopeAt(
  { linear, quadratic }: FullQuadratic,
  x: Float64Array,
  free: readonly number[],
): Float64Array {
  const k = x.length;
  const out = new Float64Array(k);
  for (const i of free) {
    let sum = linear[i]!;
    for (let j = 0; j < k; j++) sum += 2 * quadratic[i * k + j]! * x[j]!;
    out[i] = sum;
  }
  return out;
}

/** Goes to the top of the parabola along a line, or to the better end of its segment. */
function moveAlong(
  surface: FullQuadratic,
  limits: readonly LinearLimit[],
  at: Float64Array,
  towards: Float64Array,
): void {
  const k = at.length;
  const length = Math.hypot(...towards);
  if (length < 1e-12) return;
  const direction = towards.map((value) => value / length);
  let slope = 0;
  let bend = 0;
  for (let i = 0; i < k; i++) {
    const d = direction[i]!;
    if (d === 0) continue;
    let inner = surface.linear[i]!;
    let turned = 0;
    for (let j = 0; j < k; j++) {
      inner += 2 * surface.quadratic[i * k + j]! * at[j]!;
      turned += surface.quadratic[i * k + j]! * direction[j]!;
    }
    slope += d * inner;
    bend += d * turned;
  }
  if (slope === 0 && bend <= 0) return;
  const { from, to } = lineInside(at, direction, limits);
  if (!(to > from)) return;
  const gain = (t: number): number => t * (slope + t * bend);
  let step = gain(to) >= gain(from) ? to : from;
  if (bend < 0) step = Math.max(from, Math.min(to, -slope / (2 * bend)));
  if (!Number.isFinite(step) || gain(step) <= 0) return;
  for (let i = 0; i < k; i++) at[i]! += step * direction[i]!;
}
