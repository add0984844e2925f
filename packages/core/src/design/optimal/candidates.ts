import type { CompiledProblem } from './compiled-problem.ts';
import type { Unit } from './layout.ts';
import { isForbidden, narrowStretchInto } from './region.ts';

/** Which settings are tried: an equally spaced grid first, then ever smaller steps. */
export type SearchStage = 'grid' | 'refine';

const LADDER = [0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001];

/**
 * Settings of factor `j` that a unit may take with everything else held, written into `out`.
 * Ends of the feasible stretch are among them, so a limit is met exactly.
 * @returns how many were written
 */
export function candidatesInto(
  out: Float64Array,
  compiled: CompiledProblem,
  at: {
    readonly points: Float64Array;
    readonly unit: Unit;
    readonly j: number;
    readonly stage: SearchStage;
  },
): number {
  const { region } = compiled;
  const levels = region.levels[at.j];
  stretch[0] = levels ? Number.NEGATIVE_INFINITY : -1;
  stretch[1] = levels ? Number.POSITIVE_INFINITY : 1;
  const k = region.factors.length;
  if (region.b.length > 0) {
    for (const row of at.unit.rows) {
      narrowStretchInto(stretch, region, { points: at.points, offset: row * k, j: at.j });
    }
  }
  const low = stretch[0]!;
  const high = stretch[1]!;
  let count = 0;
  if (levels) {
    for (const level of levels) {
      if (level >= low - 1e-9 && level <= high + 1e-9) out[count++] = level;
    }
  } else if (low <= high) {
    const now = at.points[at.unit.rows[0]! * k + at.j]!;
    count = continuousInto(out, compiled, { low, high, now, stage: at.stage });
  }
  return region.forbidden.length === 0 ? count : allowedInto(out, count, compiled, at);
}

// One buffer for all calls: the search is single-threaded and never re-enters.
const stretch = new Float64Array(2);

function continuousInto(
  out: Float64Array,
  { gridLevels, resolution }: CompiledProblem,
  { low, high, now, stage }: { low: number; high: number; now: number; stage: SearchStage },
): number {
  let count = 0;
  out[count++] = low;
  if (high > low) out[count++] = high;
  if (stage === 'grid') {
    for (let i = 0; i < gridLevels; i++) {
      const level = gridLevels === 1 ? 0 : -1 + (2 * i) / (gridLevels - 1);
      if (level > low + 1e-9 && level < high - 1e-9) out[count++] = level;
    }
    return count;
  }
  // Dividing by a whole number gives the decimal itself (0.3), multiplying by 0.01 may not.
  const perUnit = Math.round(1 / resolution);
  const nearest = Math.round(now * perUnit) / perUnit;
  if (nearest > low && nearest < high && nearest !== now) out[count++] = nearest;
  for (const step of LADDER) {
    if (step < resolution * 0.999) break;
    for (const level of [now - step, now + step]) {
      const rounded = Math.round(level * perUnit) / perUnit;
      if (rounded > low && rounded < high) out[count++] = rounded;
    }
  }
  return count;
}

/** Keep the candidates at which no row of the unit is forbidden. */
function allowedInto(
  out: Float64Array,
  count: number,
  { region }: CompiledProblem,
  { points, unit, j }: { readonly points: Float64Array; readonly unit: Unit; readonly j: number },
): number {
  const k = region.factors.length;
  let kept = 0;
  for (let i = 0; i < count; i++) {
    const level = out[i]!;
    let isAllowed = true;
    for (const row of unit.rows) {
      const before = points[row * k + j]!;
      points[row * k + j] = level;
      if (isForbidden(region, points, row * k)) isAllowed = false;
      points[row * k + j] = before;
    }
    if (isAllowed) out[kept++] = level;
  }
  return kept;
}

/** Room enough for the candidates of any factor. */
export function candidateRoom({ region, gridLevels }: CompiledProblem): Float64Array {
  const most = Math.max(gridLevels, ...region.levels.map((levels) => levels?.length ?? 0));
  return new Float64Array(Math.max(most, 2 * LADDER.length + 1) + 4);
}
