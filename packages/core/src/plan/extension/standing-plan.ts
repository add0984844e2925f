import type { Design, DesignRun } from '../../design/design.ts';
import { pointKind } from '../../design/point-kind.ts';
import { DomainError } from '../../error/domain-error.ts';
import { codedPoint } from '../../factor/coding.ts';
import type { Factor } from '../../factor/factor.ts';
import { type OrderRule, OrderRule as OrderRules } from '../../schedule/ordered-plan.ts';
import type { PlannedRun } from '../../schedule/planned-run.ts';
import { pricedRuns } from '../../schedule/priced-runs.ts';
import { studyDefaults } from '../../study/run-table.ts';
import type { CellState, StudyState } from '../../study/state.ts';
import type { Model } from '../../term/term.ts';
import { pointOf } from '../../trade/limits.ts';
import { type Plan, type PlanRequest, planLimits } from '../plan.ts';

/** A cell that still counts, with its settings coded on the ranges as they are now. */
export interface StandingCell {
  readonly cell: CellState;
  readonly run: PlannedRun;
}

/**
 * Cells of a plan that are done, under way or to come; failed ones, left-out ones and those for
 * confirmation stand apart. Settings count as entered where they were, coded on the present ranges.
 */
export function standingCells(state: StudyState, factors: readonly Factor[]): StandingCell[] {
  const { line } = state.opened;
  return state.cells
    .filter(
      ({ status, purpose }) =>
        status !== 'failed' && status !== 'left out' && purpose !== 'confirm',
    )
    .map((cell) => {
      const natural = cell.entered ? pointOf(cell.entered, factors, line) : cell.run.natural;
      const coded = codedPoint(natural, factors);
      return { cell, run: { ...cell.run, natural, coded, kind: cell.run.kind } };
    });
}

/** Runs as a design, in the order of the list. */
export function designOfRuns(
  runs: readonly PlannedRun[],
  factors: readonly Factor[],
  family: string,
): Design {
  return {
    family,
    factors,
    runs: runs.map(
      ({ coded, kind, block, wholePlot, subWholePlot }): DesignRun => ({
        coded,
        kind: kind === 'other' ? pointKind(coded, factors) : kind,
        block,
        wholePlot,
        subWholePlot,
      }),
    ),
    notes: [],
  };
}

/** The plan's request for the factors as they are now. */
export function standingRequest(
  state: StudyState,
  factors: readonly Factor[],
  model: Model,
): PlanRequest {
  const { line, grade, product } = state.opened;
  const plan = adopted(state);
  return {
    factors,
    model,
    family: plan.family,
    seed: plan.seed,
    surroundings: { line, grade, product, defaults: studyDefaults(state) },
    ...(plan.holdRule ? { holdRule: plan.holdRule } : {}),
  };
}

/** @throws {DomainError} `no_plan` when the study has none */
export function adopted(state: StudyState): NonNullable<StudyState['plan']> {
  if (state.plan) return state.plan;
  throw new DomainError(
    'no_plan',
    'extension: the study must have a plan to extend; got none. Make one with "strandwise plan".',
  );
}

/** Cells that stand, as a plan whose properties can be told. */
export function planOfRuns(request: PlanRequest, runs: readonly PlannedRun[], rule: string): Plan {
  const { factors, surroundings, holdRule } = request;
  const order: OrderRule = OrderRules.options.find((name) => name === rule) ?? 'within-plots';
  const numbered = runs.map((run, i) => ({ ...run, runOrder: i + 1 }));
  const priced = pricedRuns(numbered, {
    design: { factors },
    ...(holdRule ? { holdRule } : {}),
    ...(surroundings && numbered.every(({ setPoints }) => setPoints !== null)
      ? {
          line: surroundings.line,
          grade: surroundings.grade,
          product: surroundings.product,
          start: { kind: 'cold', roomCelsius: 23, soakMinutes: 20 } as const,
        }
      : {}),
  });
  return {
    request,
    design: designOfRuns(numbered, factors, request.family),
    ordered: { ...priced, order, seed: request.seed, falseResets: [], notes: [] },
    constraints: surroundings ? planLimits(factors, surroundings) : [],
  };
}
