import { z } from 'zod';
import { DomainError } from '../error/domain-error.ts';
import { ComparisonRow, comparisonRows, type NamedPlan } from './comparison-row.ts';
import { PlanAnswer, planAnswer } from './plan-answer.ts';
import type { PlanProperties } from './plan-properties.ts';

export const mostPlansBeside = 4;

/** What a person has to spend; a field left out is no limit. */
export const PlanBudget = z.strictObject({
  hours: z.number().positive().optional(),
  grams: z.number().positive().optional(),
});
export type PlanBudget = Readonly<z.infer<typeof PlanBudget>>;

export const PlanComparison = z.strictObject({
  names: z.array(z.string()),
  budget: PlanBudget,
  /** Null without a budget. */
  fits: z.array(z.boolean().nullable()),
  /** Rows that differ first. */
  rows: z.array(ComparisonRow),
  says: z.array(z.string()),
  plans: z.array(PlanAnswer),
});
export type PlanComparison = z.infer<typeof PlanComparison>;

/**
 * Up to four plans beside each other, rows that differ first.
 *
 * @throws {DomainError} `plan_count` when there are none or more than four
 */
export function planComparison(
  plans: readonly NamedPlan[],
  budget: PlanBudget = {},
): PlanComparison {
  if (plans.length < 1 || plans.length > mostPlansBeside) {
    throw new DomainError(
      'plan_count',
      `planComparison: plans must number 1 to ${mostPlansBeside}; got ${plans.length}. Leave some out.`,
      { got: plans.length },
    );
  }
  const rows = comparisonRows(plans);
  const fits = plans.map(({ properties }) => fitsBudget(properties, budget));
  return {
    names: plans.map(({ name }) => name),
    budget: { ...budget },
    fits,
    rows: [...rows.filter(({ differs }) => differs), ...rows.filter(({ differs }) => !differs)],
    says: verdicts(plans, fits, rows),
    plans: plans.map(planAnswer),
  };
}

/** Whether a plan keeps a budget; null when there is none or the plan was made without a line. */
export function fitsBudget(
  { hours, grams }: Pick<PlanProperties, 'hours' | 'grams'>,
  budget: PlanBudget,
): boolean | null {
  if (budget.hours === undefined && budget.grams === undefined) return null;
  if (hours === null || grams === null) return null;
  return (
    hours <= (budget.hours ?? Number.POSITIVE_INFINITY) + 1e-9 &&
    grams <= (budget.grams ?? Number.POSITIVE_INFINITY) + 1e-9
  );
}

const ENOUGH = 0.8;

/** Sentences that follow from the table: who fits, who alone sees what. */
function verdicts(
  plans: readonly NamedPlan[],
  fits: readonly (boolean | null)[],
  rows: readonly ComparisonRow[],
): string[] {
  const out: string[] = [];
  const isBudgeted = fits.some((fit) => fit !== null);
  const inside = plans.flatMap(({ name }, i) => (fits[i] === true ? [name] : []));
  if (isBudgeted) {
    out.push(
      inside.length === 0
        ? 'No plan fits the budget.'
        : inside.length === plans.length
          ? 'All plans fit the budget.'
          : `Only ${inside.join(', ')} ${inside.length === 1 ? 'fits' : 'fit'} the budget.`,
    );
  }
  const among = (i: number): boolean => !isBudgeted || inside.length === 0 || fits[i] === true;
  const where = isBudgeted && inside.length > 0 ? 'inside the budget ' : '';
  const alone = new Map<string, string[]>();
  for (const { group, label, values } of rows) {
    if (group !== 'power') continue;
    const seeing = plans.flatMap(({ name }, i) =>
      among(i) && typeof values[i] === 'number' && Number(values[i]) >= ENOUGH ? [name] : [],
    );
    if (seeing.length !== 1 || plans.length < 2) continue;
    alone.set(seeing[0]!, [...(alone.get(seeing[0]!) ?? []), label]);
  }
  for (const [name, labels] of alone) {
    out.push(
      `${name} is the only plan ${where}that sees ${labels.join(', ')} with a chance of ${ENOUGH} or more.`,
    );
  }
  return out;
}
