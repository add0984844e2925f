import { z } from 'zod';
import {
  adviceCandidates,
  type CandidateOutcome,
  type CandidateWish,
  triedCandidate,
} from './advice-candidate.ts';
import { rankReasons, shortfalls } from './advice-reason.ts';
import { type AssessedPlan, assessedPlan } from './assess.ts';
import type { CandidateBasis, PlanGoal } from './candidate.ts';
import { fitsBudget, PlanBudget } from './comparison.ts';
import { mainEffects, smallestPower } from './order-table.ts';
import { PlanAnswer } from './plan-answer.ts';
import { type StatedChange, usualChange } from './stated-change.ts';

/** At most this many candidates are offered. */
export const mostAdvised = 5;

/** A candidate with its place, and the one reason for it. */
export interface AdvisedPlan extends AssessedPlan {
  readonly name: string;
  readonly reason: string;
  /** Null when there is no budget, or the plan was made without a line. */
  readonly fits: boolean | null;
}

/** Ranked plans; when none fits the budget, what budget would. */
export interface Advice {
  readonly goal: PlanGoal;
  readonly budget: PlanBudget;
  readonly plans: readonly AdvisedPlan[];
  /** The smallest budget that any candidate needs; null when one fits or there is no budget. */
  readonly needs: { readonly hours: number; readonly grams: number; readonly name: string } | null;
  readonly says: string;
  /** Candidates that could not be made, with the reason. */
  readonly refused: readonly { readonly name: string; readonly why: string }[];
}

export const AdviceAnswer = z.strictObject({
  goal: z.enum(['find', 'map', 'confirm']),
  budget: PlanBudget,
  needs: z.strictObject({ hours: z.number(), grams: z.number(), name: z.string() }).nullable(),
  says: z.string(),
  plans: z.array(
    z.strictObject({
      name: z.string(),
      reason: z.string(),
      fits: z.boolean().nullable(),
      plan: PlanAnswer,
    }),
  ),
  refused: z.array(z.strictObject({ name: z.string(), why: z.string() })),
});
export type AdviceAnswer = z.infer<typeof AdviceAnswer>;

export interface AdviceWish extends CandidateWish {
  readonly change?: StatedChange;
}

/**
 * Ranked plans for a goal within a budget: at most five, none over the budget unless none fits.
 *
 * `find` ranks by the smallest chance to see a main effect; `map` by the average error of prediction;
 * `confirm` by the chance to see a shift of the mean. Plans that tell more of the model go first among
 * equals, then the shorter.
 */
export function planAdvice(basis: CandidateBasis, wish: AdviceWish): Advice {
  const change = wish.change ?? usualChange(basis.factors);
  const outcomes = adviceCandidates(basis, wish).map(({ name, made }) =>
    triedCandidate(name, () => assessedPlan(made(), change)),
  );
  return adviceOf(outcomes, wish);
}

/** The advice of candidates that were made elsewhere, as `planAdvice` ranks them. */
export function adviceOf(
  outcomes: readonly CandidateOutcome[],
  { goal, budget = {} }: Pick<CandidateWish, 'goal' | 'budget'>,
): Advice {
  const withFit = outcomes.flatMap((candidate) =>
    'plan' in candidate ? [{ ...candidate, fits: fitsBudget(candidate.properties, budget) }] : [],
  );
  const fitting = withFit.filter(({ fits }) => fits !== false);
  const isWithin = fitting.length > 0;
  const ranked = distinct(
    isWithin
      ? [...fitting].sort((a, b) => merit(goal, b) - merit(goal, a) || spent(a) - spent(b))
      : [...withFit].sort((a, b) => overspent(a, budget) - overspent(b, budget)),
  ).slice(0, mostAdvised);
  const reasons = isWithin ? rankReasons(goal, ranked) : shortfalls(ranked, budget);
  const needs = isWithin ? null : leastBudget(ranked[0]);
  return {
    goal,
    budget,
    plans: ranked.map((candidate, i) => ({ ...candidate, reason: reasons[i]! })),
    needs,
    says: adviceWords(ranked.length, needs, budget),
    refused: outcomes.flatMap((outcome) => ('why' in outcome ? [outcome] : [])),
  };
}

const leastBudget = (
  least: (AssessedPlan & { readonly name: string }) | undefined,
): Advice['needs'] =>
  least
    ? {
        hours: least.properties.hours ?? 0,
        grams: least.properties.grams ?? 0,
        name: least.name,
      }
    : null;

/** Plans that come out with the same cells and cost are one; the first name stays. */
function distinct<T extends AssessedPlan>(plans: readonly T[]): T[] {
  const seen = new Set<string>();
  return plans.filter(({ plan, properties }) => {
    const key = `${plan.design.family} ${properties.cells} ${properties.zoneSettings} ${properties.hours?.toFixed(2)}`;
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}

const spent = ({ properties }: AssessedPlan): number => properties.hours ?? properties.cells;

/** How far over the budget, as the worse of two ratios. */
function overspent({ properties }: AssessedPlan, { hours, grams }: PlanBudget): number {
  return Math.max(
    hours === undefined ? 0 : (properties.hours ?? 0) / hours,
    grams === undefined ? 0 : (properties.grams ?? 0) / grams,
  );
}

/** Larger is better; rounded so that differences nobody would act on do not decide. */
function merit(goal: PlanGoal, { plan, properties }: AssessedPlan): number {
  const told = properties.terms.filter(({ power }) => power !== null).length;
  const asked = Math.max(1, properties.terms.length);
  if (goal === 'map') {
    const isWhole = properties.assessed === properties.model;
    return (isWhole ? 100 : 0) - Math.round(50 * properties.averageError) / 50;
  }
  const { hard, other } = mainEffects(properties.terms, plan.request.factors);
  const power = smallestPower([...hard, ...other]) ?? interceptPower(properties.terms) ?? 0;
  return Math.round(20 * power) / 20 + (0.1 * told) / asked;
}

const interceptPower = (terms: AssessedPlan['properties']['terms']): number | null =>
  terms.find(({ powers }) => Object.keys(powers).length === 0)?.power ?? null;

function adviceWords(count: number, needs: Advice['needs'], budget: PlanBudget): string {
  if (count === 0) return 'No plan could be made for these factors and limits.';
  const limit = [
    ...(budget.hours === undefined ? [] : [`${budget.hours} h`]),
    ...(budget.grams === undefined ? [] : [`${budget.grams} g`]),
  ].join(' and ');
  if (needs) {
    return `No plan fits ${limit}. The nearest, ${needs.name}, needs ${needs.hours.toFixed(1)} h and ${Math.ceil(needs.grams)} g.`;
  }
  const fit = limit === '' ? '' : ` that ${count === 1 ? 'fits' : 'fit'} ${limit}`;
  return `${count} ${count === 1 ? 'plan' : 'plans'}${fit}, best first.`;
}
