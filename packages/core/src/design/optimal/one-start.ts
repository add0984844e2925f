import { seededUniform, type Uniform } from '../../random/uniform.ts';
import { candidateRoom, type SearchStage } from './candidates.ts';
import { bestCellSetting, type MoveWorkspace } from './cell-move.ts';
import { type CompiledProblem, compiledProblem } from './compiled-problem.ts';
import {
  type ExchangeState,
  emptyState,
  fillRowInto,
  loadUnit,
  refactor,
} from './exchange-state.ts';
import { bestGroupSetting } from './group-move.ts';
import type { Unit } from './layout.ts';
import type { OptimalProblem, StartResult } from './problem.ts';
import { randomPointInto, redrawInto } from './random-point.ts';
import { decodedPoint, encodeInto } from './region.ts';
import {
  commit,
  type ReplacementWorkspace,
  replacementWorkspace,
  replacementWorth,
} from './replacement.ts';
import { slideAlongLimits } from './tangent-move.ts';

const MOST_PASSES = 100;
const WORTHWHILE = 3e-5; // efficiency gained by a pass of refinement; less is not worth another

/** Storage of a search, shared by its starts. */
export interface Workspace {
  readonly move: MoveWorkspace;
  readonly replacement: ReplacementWorkspace;
}

/**
 * One start of the coordinate exchange: a random feasible design from the start's own stream, then
 * passes over all coordinates until none can be bettered. The result depends on the problem and
 * `startIndex` alone, so starts may be done in any order and by any number of workers.
 *
 * @param startIndex - counts from 0
 * @source Meyer & Nachtsheim (1995), Technometrics 37:60–69; Jones & Goos (2007), Applied
 *   Statistics 56:347–364 (split plots)
 */
export function oneStart(problem: OptimalProblem, startIndex: number): StartResult {
  const compiled = compiledProblem(problem);
  const state = emptyState(compiled);
  const work = workspace(compiled);
  const uniform = seededUniform(compiled.seed, `optimal start ${startIndex}`);
  includeRuns(state, problem);
  let passes = 0;
  for (let draw = 0; draw < 5; draw++) {
    drawDesign(state, uniform);
    if (!passSingularity(state, work)) continue;
    passes += exchange(state, work, 'grid');
    if (compiled.resolution > 0) passes += exchange(state, work, 'refine');
    if (refactor(state)) break;
  }
  return result(state, startIndex, passes);
}

function result(state: ExchangeState, startIndex: number, passes: number): StartResult {
  const { compiled, points, value } = state;
  const { region, layout } = compiled;
  const k = region.factors.length;
  return {
    startIndex,
    points: Array.from({ length: layout.n }, (_, i) => decodedPoint(points, i * k, region.factors)),
    criterion: value,
    score: compiled.criterion === 'D' ? value : -value,
    passes,
  };
}

function workspace(compiled: CompiledProblem): Workspace {
  const { columns: p, layout, region, table } = compiled;
  const r = Math.max(1, ...layout.units.map((unit) => unit.rows.length));
  const size = Math.max(1, ...table.basisSizes);
  const forms = (): Float64Array => new Float64Array(size * size);
  return {
    move: {
      candidates: candidateRoom(compiled),
      u: new Float64Array(r * p),
      slope: forms(),
      slopeB: forms(),
      bend: forms(),
      bendB: forms(),
      psi: new Float64Array(size),
      square: new Float64Array(4 * r * r),
      inverse: new Float64Array(4 * r * r),
      order: new Int32Array(2 * r),
    },
    replacement: replacementWorkspace(r, p, region.factors.length),
  };
}

function includeRuns(state: ExchangeState, problem: OptimalProblem): void {
  const { factors } = state.compiled.region;
  for (const [i, { coded }] of (problem.included ?? []).entries()) {
    encodeInto(state.points, coded, { factors, offset: i * factors.length });
    fillRowInto(state, i);
  }
}

/**
 * A random feasible design: a point per whole plot, from which sub-whole plots and cells wander in
 * the factors they may change, so limits that couple the tiers hold from the first moment.
 */
function drawDesign(state: ExchangeState, uniform: Uniform): void {
  const { compiled, points } = state;
  const { region, layout, centres } = compiled;
  const k = region.factors.length;
  const point = new Float64Array(k);
  const isPlaced = new Uint8Array(layout.n);
  for (const unit of layout.units) {
    if (isPlaced[unit.rows[0]!]) {
      wander(state, unit, uniform);
      continue;
    }
    randomPointInto(point, region, { centres, uniform });
    for (const row of unit.rows) {
      points.set(point, row * k);
      isPlaced[row] = 1;
    }
  }
  for (let i = layout.fixed; i < layout.n; i++) fillRowInto(state, i);
}

/** Redraw the unit's own factors once, the same for all its rows, which so far agree. */
function wander({ compiled, points }: ExchangeState, unit: Unit, uniform: Uniform): void {
  const { region } = compiled;
  const k = region.factors.length;
  const first = unit.rows[0]! * k;
  for (let sweep = 0; sweep < 2; sweep++) {
    redrawInto(region, { points, offset: first, factors: unit.factors }, uniform);
  }
  for (const row of unit.rows) if (row * k !== first) points.copyWithin(row * k, first, first + k);
}

/**
 * Get a usable M⁻¹. A random design may be singular (few runs, few levels): then a ridge makes M
 * invertible, passes are made with it, and it is taken away once M stands without it.
 */
function passSingularity(state: ExchangeState, work: Workspace): boolean {
  if (refactor(state)) return true;
  for (let pass = 0; pass < 10; pass++) {
    if (!refactor(state, 1e-3 * 10 ** -Math.floor(pass / 3))) return false;
    onePass(state, work, 'grid');
    if (refactor(state)) return true;
  }
  return false;
}

/** Passes until nothing betters; returns how many. */
function exchange(state: ExchangeState, work: Workspace, stage: SearchStage): number {
  for (let pass = 1; pass <= MOST_PASSES; pass++) {
    if (!refactor(state)) return pass;
    const before = state.value;
    let isBetter = onePass(state, work, stage);
    if (state.compiled.region.b.length > 0) {
      for (const unit of state.compiled.layout.units) {
        if (slideAlongLimits(state, work.replacement, unit)) isBetter = true;
      }
    }
    const gain = Math.abs(state.value - before) / (state.b ? before : state.compiled.columns);
    if (!isBetter || (stage === 'refine' && gain < WORTHWHILE)) return pass;
  }
  return MOST_PASSES;
}

function onePass(state: ExchangeState, work: Workspace, stage: SearchStage): boolean {
  let isBetter = false;
  for (const unit of state.compiled.layout.units) {
    loadUnit(state, unit);
    const best = unit.rows.length === 1 ? bestCellSetting : bestGroupSetting;
    for (const j of unit.factors) {
      const { setting } = best(state, work.move, { unit, j, stage });
      if (Number.isNaN(setting)) continue;
      if (moveCoordinate(state, work.replacement, { unit, j, setting })) isBetter = true;
    }
  }
  return isBetter;
}

function moveCoordinate(
  state: ExchangeState,
  work: ReplacementWorkspace,
  { unit, j, setting }: { unit: Unit; j: number; setting: number },
): boolean {
  const { points, compiled } = state;
  const k = compiled.region.factors.length;
  const before = points[unit.rows[0]! * k + j]!;
  for (const row of unit.rows) points[row * k + j] = setting;
  const worth = replacementWorth(state, work, unit);
  // The kernel and this full form agree but for rounding; a disagreement means M⁻¹ has gone stale.
  const isGain = state.b ? worth < 0 : worth > 1;
  if (!isGain) {
    for (const row of unit.rows) points[row * k + j] = before;
    return false;
  }
  commit(state, work, { unit, worth });
  return true;
}
