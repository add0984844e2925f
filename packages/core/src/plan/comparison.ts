import { z } from 'zod';
import { DomainError } from '../error/domain-error.ts';
import type { Factor } from '../factor/factor.ts';
import { type Powers, termOrder } from '../term/term.ts';
import type { AssessedPlan } from './assess.ts';
import { PlanAnswer, planAnswer } from './plan-answer.ts';
import type { PlannedTerm, PlanProperties } from './plan-properties.ts';
import { changeWords } from './stated-change.ts';

export const mostPlansBeside = 4;

const RowValue = z.union([z.number(), z.string(), z.null()]);

/** One property of several plans. `group` heads rows that belong together. */
export const ComparisonRow = z.strictObject({
  key: z.string(),
  group: z.enum(['cost', 'power', 'structure', 'prediction', 'risk', 'doubt']),
  label: z.string(),
  unit: z.string(),
  /** One a plan; null where the plan cannot tell. */
  values: z.array(RowValue),
  differs: z.boolean(),
});
export type ComparisonRow = z.infer<typeof ComparisonRow>;

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

export interface NamedPlan extends AssessedPlan {
  readonly name: string;
}

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
  const rows = [...costRows(plans), ...powerRows(plans), ...structureRows(plans)];
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

type Pick1 = (properties: PlanProperties) => number | string | null;

function row(
  plans: readonly NamedPlan[],
  head: Pick<ComparisonRow, 'key' | 'group' | 'label' | 'unit'> & { readonly tolerance?: number },
  pick: Pick1,
): ComparisonRow {
  const { tolerance = 0, ...rest } = head;
  const values = plans.map(({ properties }) => pick(properties));
  return { ...rest, values, differs: areDifferent(values, tolerance) };
}

function areDifferent(values: readonly (number | string | null)[], tolerance: number): boolean {
  const first = values[0]!;
  return values.some((value) =>
    typeof value === 'number' && typeof first === 'number'
      ? Math.abs(value - first) > tolerance
      : value !== first,
  );
}

function costRows(plans: readonly NamedPlan[]): ComparisonRow[] {
  const cost = (key: string, label: string, unit: string, pick: Pick1, tolerance = 0) =>
    row(plans, { key, group: 'cost', label, unit, tolerance }, pick);
  const rows = [
    cost('cells', 'cells', '', ({ cells }) => cells),
    cost('zoneSettings', 'zone settings', '', ({ zoneSettings, cells }) => zoneSettings ?? cells),
    cost('hours', 'hours', 'h', ({ hours }) => hours, 0.05),
    cost('holdHours', 'of which holds', 'h', ({ holdHours }) => holdHours, 0.05),
    cost('grams', 'resin', 'g', ({ grams }) => grams, 5),
    cost('shifts', 'shifts of 8 h', '', ({ shifts }) => shifts),
    cost('spools', 'spools', '', ({ spools }) => spools),
  ];
  return rows.filter(({ values }) => values.some((value) => value !== null));
}

/** Power by the role of terms: main effects one by one, interactions and bowls by how dear they are. */
function powerRows(plans: readonly NamedPlan[]): ComparisonRow[] {
  const { factors } = plans[0]!.plan.request;
  const groups = new Map<string, { label: string; names: string[] }>();
  for (const { properties } of plans) {
    for (const term of properties.terms) {
      const { key, label } = roleOf(term, factors);
      if (key === '') continue;
      const group = groups.get(key) ?? { label, names: [] };
      if (!group.names.includes(term.name)) group.names.push(term.name);
      groups.set(key, group);
    }
  }
  const change = changeWords(plans[0]!.properties.change);
  return [...groups].map(([key, { label, names }]) =>
    row(
      plans,
      {
        key: `power ${key}`,
        group: 'power',
        label: names.length === 1 ? names[0]! : `${label}, worst of ${names.length}`,
        unit: `chance to see ${change}`,
        tolerance: 0.005,
      },
      ({ terms }) => {
        const powers = names.map((name) => terms.find((term) => term.name === name)?.power ?? null);
        return powers.includes(null) ? null : Math.min(...powers.map(Number));
      },
    ),
  );
}

function roleOf({ powers, name }: PlannedTerm, factors: readonly Factor[]) {
  const names = Object.keys(powers);
  if (names.length === 0) return { key: '', label: '' };
  if (termOrder(powers) === 1) return { key: name, label: name };
  const isHard = (factor: string): boolean =>
    factors.find((candidate) => candidate.name === factor)?.changes === 'hard';
  const hard = names.filter(isHard).length;
  if (names.length === 1) {
    return hard === 1
      ? { key: 'bowls hard', label: 'bowls, hard' }
      : { key: 'bowls', label: 'bowls, other' };
  }
  if (hard === names.length) return { key: 'pairs hard', label: 'hard × hard' };
  return hard > 0
    ? { key: 'pairs mixed', label: 'hard × other' }
    : { key: 'pairs', label: 'other × other' };
}

function structureRows(plans: readonly NamedPlan[]): ComparisonRow[] {
  const worst = ({ fractionOfRegion }: PlanProperties): number =>
    fractionOfRegion.standardErrors.at(-1)!;
  return [
    row(
      plans,
      { key: 'assessed', group: 'structure', label: 'model it can tell', unit: '' },
      ({ assessed }) => (typeof assessed === 'string' ? assessed : modelWords(assessed.terms)),
    ),
    row(
      plans,
      { key: 'errorDf', group: 'structure', label: 'error df zones / rest', unit: '' },
      ({ df }) => {
        const cells = df.find(({ name }) => name === 'cells')!.error;
        const whole = df.find(({ name }) => name === 'whole plots')?.error;
        return `${whole ?? '–'} / ${cells}`;
      },
    ),
    row(
      plans,
      { key: 'pureDf', group: 'structure', label: 'of which from repeats', unit: '' },
      ({ df }) => df.map(({ pureError }) => pureError).join(' / '),
    ),
    row(
      plans,
      {
        key: 'averageError',
        group: 'prediction',
        label: 'prediction error over cell SD',
        unit: '',
        tolerance: 0.005,
      },
      ({ averageError }) => averageError,
    ),
    row(
      plans,
      {
        key: 'worstError',
        group: 'prediction',
        label: 'and at worst',
        unit: '',
        tolerance: 0.005,
      },
      worst,
    ),
    ...(['d', 'a', 'i', 'g'] as const).map((letter) =>
      row(
        plans,
        {
          key: `efficiency ${letter}`,
          group: 'prediction',
          label: `${letter.toUpperCase()} efficiency`,
          unit: '%',
          tolerance: 0.05,
        },
        ({ efficiencies }) => efficiencies[letter],
      ),
    ),
    row(
      plans,
      { key: 'worstLoss', group: 'risk', label: 'worst loss of one cell', unit: '' },
      ({ worstLoss }) =>
        worstLoss === null
          ? null
          : worstLoss.kind === 'grows'
            ? `+${(100 * (worstLoss.growth - 1)).toFixed(0)} %`
            : `${worstLoss.terms.slice(0, 2).join(', ')} lost`,
    ),
    row(
      plans,
      {
        key: 'drift',
        group: 'risk',
        label: 'follows time by at most',
        unit: '',
        tolerance: 0.005,
      },
      ({ largestTrend }) => largestTrend,
    ),
    row(
      plans,
      { key: 'cannotTell', group: 'doubt', label: 'cannot tell', unit: '' },
      ({ cannotTell }) => (cannotTell.length === 0 ? 'nothing asked' : cannotTell[0]!.words),
    ),
  ];
}

function modelWords(terms: readonly Powers[]): string {
  const hasPairs = terms.some((powers) => Object.keys(powers).length > 1);
  const hasBowls = terms.some((powers) => Object.values(powers).some((power) => Number(power) > 1));
  const extra = [...(hasPairs ? ['pairs'] : []), ...(hasBowls ? ['bowls'] : [])];
  return `${terms.length} terms${extra.length > 0 ? ` with ${extra.join(' and ')}` : ''}`;
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
