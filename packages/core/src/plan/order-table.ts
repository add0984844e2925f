import { z } from 'zod';
import { DomainError } from '../error/domain-error.ts';
import type { Factor } from '../factor/factor.ts';
import { OrderRule } from '../schedule/ordered-plan.ts';
import { type AssessedPlan, assessedPlan } from './assess.ts';
import { type PlanRequest, planWith } from './plan.ts';
import type { PlannedTerm } from './plan-properties.ts';

/** One order of a plan: what it saves and what that costs. */
export const OrderRow = z.strictObject({
  order: OrderRule,
  hours: z.number().nullable(),
  /** Settings of the hard factors, each one reset; null when every cell is set anew. */
  zoneSettings: z.int().nullable(),
  /** Smallest chance to see the stated change in a main effect of a hard factor, and of the others. */
  hardPower: z.number().nullable(),
  otherPower: z.number().nullable(),
  /** Error df that hard factors are judged on, and the others. */
  hardDf: z.number().nullable(),
  otherDf: z.number().nullable(),
  /** Largest correlation of a factor with linear or quadratic time. */
  drift: z.number(),
  driftFactor: z.string(),
  /** Plots that begin at the hard settings of the one before, so are no reset. */
  falseResets: z.int(),
});
export type OrderRow = z.infer<typeof OrderRow>;

/**
 * The same design in every order, in one table. Orders that need a line are left out without one, and
 * whole plots at random for a design that has none: it would be complete randomisation again.
 */
export function orderTable(assessed: AssessedPlan): OrderRow[] {
  const { plan } = assessed;
  const hasPlots = plan.design.runs.some(({ wholePlot }) => wholePlot !== null);
  return OrderRule.options.flatMap((order) => {
    if (order === 'within-plots' && !hasPlots && plan.ordered.order !== order) return [];
    const other = inOrder(assessed, order);
    return other ? [orderRow(other)] : [];
  });
}

function inOrder({ plan, properties }: AssessedPlan, order: OrderRule): AssessedPlan | null {
  const request: PlanRequest = { ...plan.request, order };
  try {
    return assessedPlan(planWith(request, plan.design), properties.change);
  } catch (error) {
    if (error instanceof DomainError && error.code === 'line_needed') return null;
    throw error;
  }
}

function orderRow({ plan, properties }: AssessedPlan): OrderRow {
  const { ordered, request } = plan;
  const mains = mainEffects(properties.terms, request.factors);
  const worst = ordered.trends.reduce(
    (most, trend) =>
      Math.max(trend.linear, trend.quadratic) > most.size
        ? { size: Math.max(trend.linear, trend.quadratic), factor: trend.factor }
        : most,
    { size: 0, factor: '' },
  );
  return {
    order: ordered.order,
    hours: properties.hours,
    zoneSettings: properties.zoneSettings,
    hardPower: smallestPower(mains.hard),
    otherPower: smallestPower(mains.other),
    hardDf: mains.hard[0]?.df ?? null,
    otherDf: mains.other[0]?.df ?? null,
    drift: worst.size,
    driftFactor: worst.factor,
    falseResets: properties.falseResets.length,
  };
}

/** Terms of one factor alone, to the first power, by how dear the factor is to change. */
export function mainEffects(
  terms: readonly PlannedTerm[],
  factors: readonly Factor[],
): { readonly hard: PlannedTerm[]; readonly other: PlannedTerm[] } {
  const mains = terms.filter(({ powers }) => {
    const [power, ...rest] = Object.values(powers);
    return power !== undefined && rest.length === 0 && (power === 1 || typeof power === 'string');
  });
  const isHard = ({ powers }: PlannedTerm): boolean =>
    factors.some(({ name, changes }) => name in powers && changes === 'hard');
  return { hard: mains.filter(isHard), other: mains.filter((term) => !isHard(term)) };
}

/** The smallest power; null when there is no term or one cannot be told. */
export function smallestPower(terms: readonly PlannedTerm[]): number | null {
  if (terms.length === 0 || terms.some(({ power }) => power === null)) return null;
  return Math.min(...terms.map(({ power }) => power!));
}
