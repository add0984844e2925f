import { isNumeric } from '../factor/factor.ts';
import { type Model, modelTerms } from '../term/term.ts';
import type { PlanBudget } from './comparison.ts';
import type { PlanRequest } from './plan.ts';

/** What a study is after. `confirm` looks at one place only. */
export type PlanGoal = 'find' | 'map' | 'confirm';
export const planGoals: readonly PlanGoal[] = ['find', 'map', 'confirm'];

/** A plan that the adviser looks at before it knows what it costs. */
export interface PlanCandidate {
  readonly name: string;
  readonly request: PlanRequest;
}

/** What candidates start from: everything of a request but the family. */
export type CandidateBasis = Omit<PlanRequest, 'family' | 'options' | 'model' | 'order'>;

/** Rough minutes of a cell and of a zone setting, to draw up sizes that may fit; holds decide later. */
const CELL_MINUTES = 14;
const SETTING_MINUTES = 16;

/**
 * Plans worth a look for a goal. Families that cannot be built for the factors are left out later,
 * when they refuse.
 */
export function planCandidates(
  goal: Exclude<PlanGoal, 'confirm'>,
  basis: CandidateBasis,
  { budget, starts }: { readonly budget: PlanBudget; readonly starts: number },
): PlanCandidate[] {
  return goal === 'find'
    ? findCandidates(basis, budget, starts)
    : mapCandidates(basis, budget, starts);
}

function findCandidates(basis: CandidateBasis, budget: PlanBudget, starts: number) {
  const { factors } = basis;
  const k = factors.length;
  const made = maker(basis);
  const isWhole = factors.every((f) => isNumeric(f) || f.levels.length === 2) && k <= 4;
  return [
    ...(isWhole
      ? [made('all corners', 'full factorial', 'interactions', { centrePoints: 3 })]
      : []),
    made('screening fraction', 'fractional factorial', 'main', { centrePoints: 3 }),
    made('fraction with pairs clear', 'fractional factorial', 'interactions', { centrePoints: 3 }),
    made('definitive screening', 'definitive screening', 'main', {}),
    made('definitive screening, two spare columns', 'definitive screening', 'main', {
      spareColumns: 2,
    }),
    made('smallest screening', 'plackett-burman', 'main', { centrePoints: 3 }),
    ...optimalSizes('optimal screening', basis, 'main', { budget, starts, criterion: 'D' }),
    ...optimalSizes('optimal with pairs', basis, 'interactions', {
      budget,
      starts,
      criterion: 'D',
    }),
  ];
}

function mapCandidates(basis: CandidateBasis, budget: PlanBudget, starts: number) {
  const made = maker(basis);
  return [
    made('composite', 'central composite', 'quadratic', { alpha: 'face-centred' }),
    made('composite drawn inside', 'central composite', 'quadratic', { inscribed: true }),
    made('box', 'box-behnken', 'quadratic', {}),
    ...optimalSizes('optimal', basis, 'quadratic', { budget, starts, criterion: 'I' }),
    made('optimal, every cell set anew', 'optimal', 'quadratic', {
      criterion: 'I',
      everyRunSetAnew: true,
      starts,
    }),
    made('definitive screening', 'definitive screening', 'quadratic', { spareColumns: 2 }),
  ];
}

const maker =
  (basis: CandidateBasis) =>
  (
    name: string,
    family: string,
    model: Model,
    options: Readonly<Record<string, unknown>>,
  ): PlanCandidate => ({ name, request: { ...basis, family, model, options } });

/** Split plots (or plain runs) from the smallest that leaves error df to what the hours allow. */
function optimalSizes(
  name: string,
  basis: CandidateBasis,
  model: Model,
  wish: {
    readonly budget: PlanBudget;
    readonly starts: number;
    readonly criterion: 'D' | 'I';
  },
): PlanCandidate[] {
  const { factors } = basis;
  const { starts, criterion } = wish;
  const terms = modelTerms(model, factors);
  const hard = new Set(factors.filter((f) => f.changes === 'hard').map((f) => f.name));
  const made = maker(basis);
  if (hard.size === 0 || hard.size === factors.length) {
    const least = terms.length + Math.max(4, Math.ceil(terms.length / 5));
    const sizes = [least, Math.ceil(1.4 * least), Math.ceil(2 * least)];
    return sizes.map((runs) =>
      made(`${name} of ${runs} cells`, 'optimal', model, {
        criterion,
        runs,
        starts,
        everyRunSetAnew: true,
      }),
    );
  }
  const hardTerms = terms.filter((powers) =>
    Object.keys(powers).every((factor) => hard.has(factor)),
  ).length;
  return splitSizes(terms.length, hardTerms, wish.budget).map(([wholePlots, cells]) =>
    made(`${name} of ${wholePlots} × ${cells}`, 'optimal', model, {
      criterion,
      wholePlots,
      cells,
      replicatedWholePlots: Math.min(2, wholePlots - hardTerms),
      starts,
    }),
  );
}

/** Whole plots × cells: least, middle and the most that the hours seem to allow. */
function splitSizes(terms: number, hardTerms: number, { hours }: PlanBudget): [number, number][] {
  const fewest = hardTerms + 3;
  const cellsFor = (plots: number): number => Math.max(2, Math.ceil((terms + 4) / plots));
  const minutes = (plots: number, cells: number): number =>
    plots * SETTING_MINUTES + plots * cells * CELL_MINUTES;
  const all: [number, number][] = [];
  for (const plots of [fewest, fewest + 2, fewest + 4, fewest + 7]) {
    for (const cells of [cellsFor(plots), cellsFor(plots) + 1]) all.push([plots, cells]);
  }
  const ordered = all.sort((a, b) => minutes(...a) - minutes(...b));
  const room = hours === undefined ? Number.POSITIVE_INFINITY : 66 * hours;
  const fitting = ordered.filter((size) => minutes(...size) <= room);
  const chosen = fitting.length > 0 ? fitting : ordered.slice(0, 1);
  const middle = chosen[Math.floor((chosen.length - 1) / 2)]!;
  return [...new Set([chosen[0]!, middle, chosen.at(-1)!])];
}
