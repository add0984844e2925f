import { type ExchangeState, loadUnit } from './exchange-state.ts';
import type { Unit } from './layout.ts';
import { isInside } from './region.ts';
import { commit, type ReplacementWorkspace, replacementWorth } from './replacement.ts';

const STEPS = [1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];

/**
 * Moves that one coordinate at a time cannot make: where a limit a·x ≤ b is met, two coordinates
 * move together along it (x_i by s/a_i, x_j by −s/a_j), so a point can slide to a corner of the
 * region. Returns true when the design got better.
 */
export function slideAlongLimits(
  state: ExchangeState,
  work: ReplacementWorkspace,
  unit: Unit,
): boolean {
  const { region } = state.compiled;
  const k = region.factors.length;
  let isBetter = false;
  for (let limit = 0; limit < region.b.length; limit++) {
    const normal = region.a.subarray(limit * k, (limit + 1) * k);
    const movable = [...unit.factors].filter((j) => normal[j] !== 0 && !region.levels[j]);
    if (movable.length < 2 || !isMet(state, unit, limit)) continue;
    for (const [at, i] of movable.entries()) {
      for (const j of movable.slice(at + 1)) {
        if (slidePair(state, work, { unit, i, j, normal })) isBetter = true;
      }
    }
  }
  return isBetter;
}

function isMet({ compiled, points }: ExchangeState, unit: Unit, limit: number): boolean {
  const { a, b, factors } = compiled.region;
  const k = factors.length;
  return unit.rows.some((row) => {
    let slack = b[limit]!;
    for (let j = 0; j < k; j++) slack -= a[limit * k + j]! * points[row * k + j]!;
    return Math.abs(slack) < 1e-7;
  });
}

function slidePair(
  state: ExchangeState,
  work: ReplacementWorkspace,
  move: { unit: Unit; i: number; j: number; normal: Float64Array },
): boolean {
  const { unit, i, j, normal } = move;
  const { points, compiled, b } = state;
  const k = compiled.region.factors.length;
  const first = unit.rows[0]! * k;
  const fromI = points[first + i]!;
  const fromJ = points[first + j]!;
  const scale = Math.max(Math.abs(1 / normal[i]!), Math.abs(1 / normal[j]!));
  const perI = 1 / (normal[i]! * scale);
  const perJ = -1 / (normal[j]! * scale);
  const place = (s: number): void => {
    for (const row of unit.rows) {
      points[row * k + i] = fromI + s * perI;
      points[row * k + j] = fromJ + s * perJ;
    }
  };
  loadUnit(state, unit);
  let best = b ? -1e-8 * state.value : 1 + 1e-8;
  let bestStep = 0;
  for (const s of slideSteps(state, { ...move, perI, perJ })) {
    place(s);
    const worth = replacementWorth(state, work, unit);
    if (b ? worth < best : worth > best) {
      best = worth;
      bestStep = s;
    }
  }
  place(bestStep);
  if (bestStep === 0) {
    for (const row of unit.rows) {
      points[row * k + i] = fromI;
      points[row * k + j] = fromJ;
    }
    return false;
  }
  commit(state, work, { unit, worth: replacementWorth(state, work, unit) });
  return true;
}

/** Fractions of the way to each end of the feasible stretch of s, the ends included. */
function slideSteps(
  state: ExchangeState,
  { unit, i, j, perI, perJ }: { unit: Unit; i: number; j: number; perI: number; perJ: number },
): number[] {
  const { points, compiled } = state;
  const { region } = compiled;
  const { a, b } = region;
  const k = region.factors.length;
  let low = -2;
  let high = 2;
  const narrow = (weight: number, room: number): void => {
    if (Math.abs(weight) < 1e-12) return;
    const limit = Math.max(0, room) / Math.abs(weight);
    if (weight > 0) high = Math.min(high, limit);
    else low = Math.max(low, -limit);
  };
  for (const row of unit.rows) {
    const at = row * k;
    for (const [factor, per] of [
      [i, perI],
      [j, perJ],
    ] as const) {
      narrow(per, 1 - points[at + factor]!);
      narrow(-per, 1 + points[at + factor]!);
    }
    for (let limit = 0; limit < b.length; limit++) {
      let room = b[limit]!;
      for (let f = 0; f < k; f++) room -= a[limit * k + f]! * points[at + f]!;
      narrow(a[limit * k + i]! * perI + a[limit * k + j]! * perJ, room);
    }
  }
  const steps = STEPS.flatMap((share) => [share * low, share * high]).filter(
    (s) => Math.abs(s) > 1e-9,
  );
  if (region.forbidden.length === 0) return steps;
  return steps.filter((s) =>
    [...unit.rows].every((row) => {
      const moved = points.slice(row * k, row * k + k);
      moved[i]! += s * perI;
      moved[j]! += s * perJ;
      return isInside(region, moved);
    }),
  );
}
