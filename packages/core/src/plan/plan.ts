import type { Design, LinearConstraint, PointKind } from '../design/design.ts';
import { designOf } from '../design/family.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';
import type { HoldRule } from '../schedule/hold.ts';
import { type OrderedPlan, type OrderRule, orderedPlan } from '../schedule/ordered-plan.ts';
import type { PlannedRun } from '../schedule/planned-run.ts';
import type { AdoptedPlan } from '../study/event.ts';
import type { Model } from '../term/term.ts';
import type { Grade, Product } from '../trade/grade.ts';
import { limits, type SettingDefaults } from '../trade/limits.ts';
import type { Line } from '../trade/line.ts';

/** The machine side of a plan; without it a plan has settings but no set points, hours or grams. */
export interface PlanSurroundings {
  readonly line: Line;
  readonly grade: Grade;
  readonly product: Product;
  readonly defaults: SettingDefaults;
}

export interface PlanRequest {
  readonly factors: readonly Factor[];
  readonly model: Model;
  readonly family: string;
  readonly options?: Readonly<Record<string, unknown>>;
  readonly seed: number;
  /** Left out: whole plots together when the design has them, else complete randomisation. */
  readonly order?: OrderRule;
  readonly holdRule?: HoldRule;
  readonly surroundings?: PlanSurroundings;
}

/** A design put in order for a line: what to run, when, and what it costs. */
export interface Plan {
  readonly request: PlanRequest;
  readonly design: Design;
  readonly ordered: OrderedPlan;
  readonly constraints: readonly LinearConstraint[];
}

/**
 * Designs and orders in one go. The limits of line and grade constrain the design; the settings
 * analysed are those after rounding to what the controller takes.
 *
 * @throws {DomainError} with the codes of `designOf` and `orderedPlan`
 */
export function planOf(request: PlanRequest): Plan {
  const { factors, model, family, options = {}, seed, surroundings } = request;
  const constraints = surroundings ? planLimits(factors, surroundings) : [];
  const design = designOf({ factors, model, family, options, seed, constraints });
  return { request, design, ordered: orderedFor(request, design), constraints };
}

/** The linear limits of line and grade on these factors, coded units. */
export function planLimits(
  factors: readonly Factor[],
  { line, grade, product, defaults }: PlanSurroundings,
): LinearConstraint[] {
  return limits({ factors, line, grade, product, defaults });
}

function orderedFor(request: PlanRequest, design: Design): OrderedPlan {
  const { surroundings, seed, holdRule } = request;
  const hasPlots = design.runs.some(({ wholePlot }) => wholePlot !== null);
  return orderedPlan({
    design,
    order: request.order ?? (hasPlots ? 'within-plots' : 'complete'),
    seed,
    start: { kind: 'cold', roomCelsius: 23, soakMinutes: 20 },
    ...(holdRule ? { holdRule } : {}),
    ...(surroundings ?? {}),
  });
}

/** Cells by where they stand, e.g. for "16 corners, 10 axial, 4 centre". */
export function pointKinds(runs: readonly Pick<PlannedRun, 'kind'>[]): Map<PointKind, number> {
  const counts = new Map<PointKind, number>();
  for (const { kind } of runs) counts.set(kind, (counts.get(kind) ?? 0) + 1);
  return counts;
}

/** The plan as an event keeps it. */
export function adoptedPlan({ request, design, ordered }: Plan): AdoptedPlan {
  return {
    family: design.family,
    model: request.model,
    seed: request.seed,
    order: ordered.order,
    runs: [...ordered.runs],
    hours: ordered.hours,
    grams: ordered.grams,
    notes: [...design.notes, ...ordered.notes],
  };
}

/** True when a factor is moved by the line's own settings. */
export const actsOnLine = (factor: Factor): boolean =>
  isNumeric(factor) && factor.acts !== undefined && factor.acts !== 'other';
