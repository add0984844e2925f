import { z } from 'zod';
import type { Design, LinearConstraint, PointKind } from '../design/design.ts';
import { type DesignRequest, designOf } from '../design/family.ts';
import { DomainError } from '../error/domain-error.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';
import type { HoldRule } from '../schedule/hold.ts';
import { type OrderedPlan, type OrderRule, orderedPlan } from '../schedule/ordered-plan.ts';
import type { PlannedRun } from '../schedule/planned-run.ts';
import { walkedPlots } from '../schedule/walked-plots.ts';
import type { SettingLimit } from '../spec/setting-limit.ts';
import type { AdoptedPlan } from '../study/event.ts';
import type { Model } from '../term/term.ts';
import type { Grade, Product } from '../trade/grade.ts';
import { type AffineZones, affineZones, limits, type SettingDefaults } from '../trade/limits.ts';
import type { Line } from '../trade/line.ts';
import { roomierForbidden, roomierLimits } from './rounding-room.ts';
import { brokenSettingLimit, limitSays, settingConstraints } from './setting-limit.ts';

/** Forbidden combinations as the optimal family takes them, natural units. */
const Forbidden = z.array(
  z.record(
    z.string(),
    z.union([z.number(), z.string(), z.strictObject({ from: z.number(), to: z.number() })]),
  ),
);

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
  /** Limits beside those of line and grade. */
  readonly limits?: readonly SettingLimit[];
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
 * @throws {DomainError} with the codes of `designOf`, `orderedPlan` and `settingConstraints`;
 *   `rounded_outside` when rounding moves a run out of a limit
 */
export function planOf(request: PlanRequest): Plan {
  return planWith(request, designOf(designRequestOf(request)));
}

/** What a plan asks of the design: limits drawn in where the family is free to keep off them. */
export function designRequestOf(request: PlanRequest): Required<DesignRequest> {
  const { factors, model, family, options = {}, seed, surroundings } = request;
  const line = surroundings?.line;
  const own = settingConstraints(request.limits ?? [], factors, zonesOf(request));
  const isFree = ['optimal', 'space filling'].includes(family.trim().toLowerCase());
  return {
    factors,
    model,
    family,
    seed,
    options: isFree ? roomierOptions(options, factors, line) : options,
    constraints: [
      ...(surroundings ? planLimits(factors, surroundings) : []),
      ...(isFree ? roomierLimits(own, factors, line) : own),
    ],
  };
}

function roomierOptions(
  options: Readonly<Record<string, unknown>>,
  factors: readonly Factor[],
  line: Line | undefined,
): Readonly<Record<string, unknown>> {
  const forbidden = Forbidden.safeParse(options['forbidden']);
  if (!forbidden.success) return options;
  return { ...options, forbidden: roomierForbidden(forbidden.data, factors, line) };
}

/** A plan from a design made for the request, however it was found. */
export function planWith(request: PlanRequest, design: Design): Plan {
  const { factors, surroundings, limits: own = [] } = request;
  const limits = settingConstraints(own, factors, zonesOf(request));
  const ordered = orderedFor(request, design);
  // Limits of line and grade were checked on the set points themselves when the runs were ordered.
  for (const run of ordered.runs) {
    const broken = brokenSettingLimit(own, factors, run);
    if (!broken) continue;
    throw new DomainError(
      'rounded_outside',
      `planOf: every run must respect "${limitSays(broken)}" after rounding to what the controller takes; got ${JSON.stringify(run.natural)} (design order ${run.designOrder}). Use "optimal", which keeps off the limits, or relax the limit.`,
      { designOrder: run.designOrder, says: limitSays(broken) },
    );
  }
  const constraints = [...(surroundings ? planLimits(factors, surroundings) : []), ...limits];
  return { request, design, ordered, constraints };
}

/** How the factors make zone set points, when the plan knows its line. */
function zonesOf({ factors, surroundings }: PlanRequest): AffineZones | undefined {
  return (
    surroundings &&
    affineZones(factors, surroundings.line, surroundings.defaults, 'settingConstraints')
  );
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
  const order = request.order ?? (hasPlots ? 'within-plots' : 'complete');
  const ordered = orderedPlan({
    design,
    order,
    seed,
    start: { kind: 'cold', roomCelsius: 23, soakMinutes: 20 },
    ...(holdRule ? { holdRule } : {}),
    ...(surroundings ?? {}),
  });
  return order === 'complete'
    ? ordered
    : { ...ordered, runs: walkedPlots(ordered.runs, request.factors) };
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
    ...(request.holdRule ? { holdRule: request.holdRule } : {}),
  };
}

/** True when a factor is moved by the line's own settings. */
export const actsOnLine = (factor: Factor): boolean =>
  isNumeric(factor) && factor.acts !== undefined && factor.acts !== 'other';
