import type { AssessedPlan } from './assess.ts';
import type { PlanGoal } from './candidate.ts';
import type { PlanBudget } from './comparison.ts';
import { mainEffects, smallestPower } from './order-table.ts';
import { changeWords } from './stated-change.ts';

type Candidate = AssessedPlan & { readonly name: string };

/** Something one candidate can be best at: larger is better, and how to say it. */
interface Merit {
  readonly value: (candidate: Candidate) => number | null;
  readonly says: (candidate: Candidate) => string;
}

const power = (which: 'hard' | 'other') => (candidate: Candidate) =>
  smallestPower(mainEffects(candidate.properties.terms, candidate.plan.request.factors)[which]);

const inHours = ({ properties: { hours } }: Candidate): string =>
  hours === null ? '' : ` in ${hours.toFixed(1)} h`;

/** What a ranking goes by; `next` tells the figure without claiming to be best. */
interface RankingMerit extends Merit {
  readonly next: (candidate: Candidate) => string;
}

const predicts: RankingMerit = {
  value: ({ properties }) => -properties.averageError,
  says: (candidate) => `predicts best on average, to ${predicts.next(candidate)}`,
  next: (candidate) =>
    `${candidate.properties.averageError.toFixed(2)} × the cell SD${inHours(candidate)}`,
};
const seesAny: RankingMerit = {
  value: (candidate) => {
    const both = [power('hard')(candidate), power('other')(candidate)].filter((p) => p !== null);
    return both.length === 0 ? null : Math.min(...both);
  },
  says: (candidate) =>
    `best chance to see ${changeWords(candidate.properties.change)} in any one factor, ${seesAny.next(candidate)}`,
  next: (candidate) => `${seesAny.value(candidate)?.toFixed(2) ?? 'not told'}${inHours(candidate)}`,
};
const tellsMean: RankingMerit = {
  value: ({ properties }) => -(properties.terms[0]?.standardError ?? Number.POSITIVE_INFINITY),
  says: (candidate) => `tells the mean best, to ${tellsMean.next(candidate)}`,
  next: (candidate) =>
    `${candidate.properties.terms[0]?.standardError?.toFixed(2) ?? '?'} × the cell SD${inHours(candidate)}`,
};

/** What else a candidate may be best at, in the order they matter to someone who has to choose. */
const merits: readonly Merit[] = [
  {
    value: ({ properties }) => -(properties.hours ?? properties.cells),
    says: (candidate) => `the shortest: ${candidate.properties.cells} cells${inHours(candidate)}`,
  },
  {
    value: power('hard'),
    says: (candidate) =>
      `sees the hard factors best, with a chance of ${power('hard')(candidate)?.toFixed(2)}${inHours(candidate)}`,
  },
  {
    value: power('other'),
    says: (candidate) =>
      `sees the factors that are easy to change best, with a chance of ${power('other')(candidate)?.toFixed(2)}${inHours(candidate)}`,
  },
  {
    value: ({ properties }) => properties.terms.filter((term) => term.power !== null).length,
    says: (candidate) =>
      `tells ${candidate.properties.terms.filter((term) => term.power !== null).length} terms apart, more than the others${inHours(candidate)}`,
  },
  {
    value: ({ properties: { worstLoss } }) =>
      worstLoss?.kind === 'grows' ? -worstLoss.growth : null,
    says: (candidate) => `loses least when one cell fails${inHours(candidate)}`,
  },
  {
    value: ({ properties }) => -(properties.grams ?? 0),
    says: (candidate) =>
      `least resin, ${Math.round(candidate.properties.grams ?? 0)} g${inHours(candidate)}`,
  },
  {
    value: ({ properties }) => -properties.fractionOfRegion.standardErrors.at(-1)!,
    says: (candidate) =>
      `its worst prediction is the best of these, ${candidate.properties.fractionOfRegion.standardErrors.at(-1)!.toFixed(2)} × the cell SD${inHours(candidate)}`,
  },
];

/** One reason each, none twice: the first what the ranking went by, the others what they are best at. */
export function rankReasons(goal: PlanGoal, ranked: readonly Candidate[]): string[] {
  const main = { find: seesAny, map: predicts, confirm: tellsMean }[goal];
  const left = [...merits];
  return ranked.map((candidate, place) => {
    if (place === 0) return main.says(candidate);
    const at = left.findIndex(({ value }) => isBest(value, candidate, ranked));
    if (at < 0) return `next by the same measure: ${main.next(candidate)}`;
    return left.splice(at, 1)[0]!.says(candidate);
  });
}

function isBest(
  value: Merit['value'],
  candidate: Candidate,
  ranked: readonly Candidate[],
): boolean {
  const own = value(candidate);
  if (own === null) return false;
  return ranked.every((other) => other === candidate || (value(other) ?? -Infinity) < own - 1e-9);
}

/** When nothing fits: by how much each is over. */
export function shortfalls(ranked: readonly Candidate[], budget: PlanBudget): string[] {
  return ranked.map(({ properties: { hours, grams } }) => {
    const over = [
      ...(budget.hours !== undefined && (hours ?? 0) > budget.hours
        ? [`${((hours ?? 0) - budget.hours).toFixed(1)} h`]
        : []),
      ...(budget.grams !== undefined && (grams ?? 0) > budget.grams
        ? [`${Math.ceil((grams ?? 0) - budget.grams)} g`]
        : []),
    ];
    return `over the budget by ${over.join(' and ')}`;
  });
}
