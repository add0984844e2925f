import {
  type AdoptedPlan,
  type Design,
  DomainError,
  type Factor,
  isNumeric,
  type Plan,
  type PlanProperties,
  planProperties,
  pointKinds,
  type StudyState,
  timeTrends,
} from '@strandwise/core';
import {
  type CaptionedFigure,
  type Fact,
  fixed,
  type PlanSummary,
  type Table,
  withUnit,
} from '@strandwise/report';
import { assumedWords, dfWords } from '../wording/plan-word.ts';
import type { PagedStudy } from './paged-study.ts';
import { counted, listed } from './sentence.ts';
import { rangeText } from './setting.ts';

/** The plan that was walked: what it is, what it cost, what it could tell. */
export function planPart(study: PagedStudy): PlanSummary {
  const { state } = study;
  const { plan } = state;
  if (!plan)
    return {
      sentence: 'No plan has been adopted.',
      facts: [],
      tables: [factorTable(state.opened.factors)],
    };
  const properties = propertiesOf(state, plan);
  return {
    sentence: planSentence(state, plan),
    facts: [...planFacts(state, plan), ...(properties ? propertyFacts(properties) : [])],
    tables: [factorTable(state.opened.factors)],
    figures: properties ? planFigures(properties) : [],
  };
}

/**
 * What the plan could tell, from its cells as adopted; null when it cannot be assessed, as when the
 * factors were changed after it.
 */
export function propertiesOf(state: StudyState, plan: AdoptedPlan): PlanProperties | null {
  try {
    return planProperties(planAsAdopted(state, plan));
  } catch (error) {
    if (error instanceof DomainError) return null;
    throw error;
  }
}

function planAsAdopted({ opened }: StudyState, plan: AdoptedPlan): Plan {
  const { factors } = opened;
  const design: Design = { family: plan.family, factors, runs: plan.runs, notes: plan.notes };
  const trends = timeTrends(
    plan.runs.map(({ coded }) => coded),
    factors,
  );
  return {
    request: { factors, model: plan.model, family: plan.family, seed: plan.seed },
    design,
    ordered: {
      runs: plan.runs,
      order: 'complete',
      seed: plan.seed,
      holds: [],
      hours: plan.hours,
      grams: plan.grams,
      spools: null,
      trends,
      largestTrend: Math.max(0, ...trends.flatMap(({ linear, quadratic }) => [linear, quadratic])),
      underFlushed: [],
      falseResets: [],
      notes: [],
    },
    constraints: [],
  };
}

const orderSays: Readonly<Record<string, string>> = {
  complete: 'in an order drawn completely at random',
  'within-plots': 'whole plots at random, and cells at random within them',
  'trend-robust': 'in an order that a drift hides in least',
  'fewest-hours': 'in the order of fewest hours',
};

const zoneSettings = ({ runs }: AdoptedPlan): number =>
  new Set(runs.flatMap(({ wholePlot }) => wholePlot ?? [])).size;

function planSentence({ planVersion }: StudyState, plan: AdoptedPlan): string {
  const settings = zoneSettings(plan);
  const each =
    settings === 0
      ? 'every cell set anew'
      : `zones, or whatever is hard to change, set ${counted(settings, 'time')}`;
  const version = planVersion > 1 ? ` This is version ${planVersion} of the plan.` : '';
  return `A ${plan.family} plan of ${counted(plan.runs.length, 'cell')}, ${each}, ${orderSays[plan.order] ?? `in the order "${plan.order}"`}.${version}`;
}

const modelSays = {
  main: 'main effects',
  interactions: 'main effects and pairs',
  quadratic: 'quadratic',
};

function planFacts({ cells }: StudyState, plan: AdoptedPlan): Fact[] {
  const kinds = [...pointKinds(plan.runs)].map(([kind, count]) => `${count} ${kind}`).join(', ');
  const holdHours = plan.runs.reduce((sum, { holdSeconds }) => sum + (holdSeconds ?? 0), 0) / 3600;
  const added = cells.filter(({ purpose }) => purpose !== 'plan');
  const purposes = new Map<string, number>();
  for (const { purpose } of added) purposes.set(purpose, (purposes.get(purpose) ?? 0) + 1);
  return [
    { name: 'cells', value: `${plan.runs.length}: ${kinds}` },
    ...(added.length > 0
      ? [
          {
            name: 'added later',
            value: [...purposes].map(([purpose, n]) => `${n} to ${purpose}`).join(', '),
          },
        ]
      : []),
    {
      name: 'model asked for',
      value:
        typeof plan.model === 'string'
          ? modelSays[plan.model]
          : `${plan.model.terms.length} terms picked one by one`,
    },
    ...(plan.hours === null
      ? []
      : [
          {
            name: 'hours foreseen',
            value: `${withUnit(fixed(plan.hours, 1), 'h')}, of which holds ${withUnit(fixed(holdHours, 1), 'h')}`,
          },
        ]),
    ...(plan.grams === null
      ? []
      : [{ name: 'resin foreseen', value: withUnit(fixed(plan.grams, 0), 'g') }]),
    { name: 'seed of the plan', value: String(plan.seed) },
    ...(plan.notes.length > 0
      ? [{ name: 'notes', value: [...new Set(plan.notes)].join(' ') }]
      : []),
  ];
}

function propertyFacts(properties: PlanProperties): Fact[] {
  return [
    { name: 'error df', value: dfWords(properties) || 'none' },
    {
      name: 'prediction',
      value: `standard error ${fixed(properties.averageError, 2)} × the SD of a cell on average over the region`,
    },
  ];
}

function planFigures({ terms, change, fractionOfRegion }: PlanProperties): CaptionedFigure[] {
  const told = terms.filter(({ powers }) => Object.keys(powers).length > 0);
  const seen = told.filter(({ power }) => power !== null && power >= 0.8);
  const blind = told.filter(({ power }) => power === null);
  const { fractions, standardErrors } = fractionOfRegion;
  const half = standardErrors[fractions.findIndex((share) => share >= 0.5)];
  const figures: CaptionedFigure[] = [];
  if (told.length > 0)
    figures.push({
      caption:
        blind.length === told.length
          ? 'The plan leaves nothing to judge its effects by'
          : seen.length === 0
            ? `No effect would be seen four times in five; the best chance is ${fixed(Math.max(...told.map(({ power }) => power ?? 0)), 2)}`
            : `The plan would see ${seen.length} of ${told.length} effects four times in five${blind.length > 0 ? `; it cannot tell ${listed(blind.map(({ name }) => name))}` : ''}`,
      note: `Chance to see ${assumedWords(change)}.`,
      figure: {
        kind: 'power',
        title: 'Chance to see an effect',
        description: `One bar a term of the plan's model: the chance to see ${assumedWords(change)}.`,
        plans: ['plan'],
        effects: told.map(({ name, power }) => ({ name, power: [power] })),
      },
    });
  if (half !== undefined && fractions.length > 1)
    figures.push({
      caption: `Half of the region is predicted to within ${fixed(half, 2)} × the SD of a cell`,
      figure: {
        kind: 'region-fraction',
        title: 'Error of prediction over the region',
        description: 'Share of the region against the standard error of prediction reached there.',
        y: { label: 'standard error of prediction, × SD of a cell' },
        plans: [
          {
            name: 'plan',
            curve: fractions.map((share, i) => [share, standardErrors[i]!] as const),
          },
        ],
      },
    });
  return figures;
}

/** What was varied, for the page and for export. */
export function factorTable(factors: readonly Factor[]): Table {
  return {
    caption: 'What was varied',
    columns: [
      { head: 'factor', holds: 'words' },
      { head: 'range', holds: 'words' },
      { head: 'to change', holds: 'words' },
    ],
    rows: factors.map((factor) => [
      factor.name,
      isNumeric(factor) ? rangeText(factor) : factor.levels.join(', '),
      factor.changes,
    ]),
  };
}
