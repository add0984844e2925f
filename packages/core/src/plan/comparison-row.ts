import { z } from 'zod';
import type { Factor } from '../factor/factor.ts';
import { type Powers, termOrder } from '../term/term.ts';
import type { AssessedPlan } from './assess.ts';
import type { PlannedTerm, PlanProperties } from './plan-properties.ts';
import { changeWords } from './stated-change.ts';

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

export interface NamedPlan extends AssessedPlan {
  readonly name: string;
}

/** Everything that several plans are compared by, what matters most first. */
export const comparisonRows = (plans: readonly NamedPlan[]): ComparisonRow[] => [
  ...costRows(plans),
  ...powerRows(plans),
  ...structureRows(plans),
];

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
