import { setImmediate } from 'node:timers/promises';
import {
  type Advice,
  type AdviceAnswer,
  type AdviceCandidate,
  adviceCandidates,
  adviceOf,
  assessedPlan,
  type CandidateOutcome,
  type NamedPlan,
  type PlanGoal,
  planAnswer,
  planGoals,
  refusedOutcome,
  type StatedChange,
  triedCandidate,
} from '@strandwise/core';
import { unknownName } from '../input/file-error.ts';
import { wrapped } from '../terminal/line.ts';
import { figures } from '../terminal/number.ts';
import { themeOf, themeWish } from '../theme.ts';
import { assumedWords } from '../wording/plan-word.ts';
import type { Given, Surroundings } from './command.ts';
import { planOptionValues } from './plan-option.ts';
import { budgetFrom, changeFrom } from './plan-request.ts';
import { planSearchOf } from './plan-search.ts';
import type { Planning } from './planning.ts';
import { stoppable } from './search-line.ts';
import { textOption } from './usage-error.ts';

export interface Advised {
  readonly text: string;
  readonly plans: readonly NamedPlan[];
  /** False when nothing fits the budget. */
  readonly isWithin: boolean;
}

/** The adviser's plans and its answer as text or JSON; its searches run in threads. */
export async function advised(
  planning: Planning,
  given: Given,
  around: Surroundings,
): Promise<Advised> {
  const { request, responses } = planning;
  const change = changeFrom(given, request.factors, responses);
  const { starts } = planOptionValues(given.options['set']);
  const wish = {
    goal: goalOf(given),
    budget: budgetFrom(given),
    change,
    ...(typeof starts === 'number' ? { starts } : {}),
  };
  const outcomes = await stoppable(around, (signal) =>
    candidateOutcomes(adviceCandidates(request, wish), { signal, change, given, around }),
  );
  const advice = adviceOf(outcomes, wish);
  return {
    text:
      given.options['json'] === true
        ? JSON.stringify(adviceAnswer(advice), null, 2)
        : adviceText(advice, around, assumedWords(change)),
    plans: advice.plans,
    isWithin: advice.needs === null && advice.plans.length > 0,
  };
}

interface CandidateSearch {
  readonly change: StatedChange;
  readonly signal: AbortSignal;
  readonly given: Given;
  readonly around: Surroundings;
}

/** Every candidate made in turn; once stopped, searches still to come are named and left. */
async function candidateOutcomes(
  candidates: readonly AdviceCandidate[],
  search: CandidateSearch,
): Promise<CandidateOutcome[]> {
  const outcomes: CandidateOutcome[] = [];
  for (const [i, candidate] of candidates.entries()) {
    // A key that stops is read only between candidates that are built at once.
    await setImmediate();
    const isLeft = search.signal.aborted && candidate.request?.family === 'optimal';
    const hasPlan = outcomes.some((outcome) => 'plan' in outcome);
    const about = `plan ${i + 1} of ${candidates.length}`;
    outcomes.push(
      isLeft && hasPlan
        ? { name: candidate.name, why: notSearched }
        : await candidateOutcome(candidate, about, search),
    );
  }
  return outcomes;
}

const notSearched = 'not searched: stopped before its turn.';

async function candidateOutcome(
  { name, request, made }: AdviceCandidate,
  about: string,
  { signal, change, given, around }: CandidateSearch,
): Promise<CandidateOutcome> {
  if (request === null) return triedCandidate(name, () => assessedPlan(made(), change));
  try {
    const plan = await planSearchOf(request, { about, signal }, given, around);
    return { name, ...assessedPlan(plan, change) };
  } catch (error) {
    return refusedOutcome(name, error);
  }
}

function goalOf(given: Given): PlanGoal {
  const text = textOption(given.options, 'goal') ?? 'map';
  const found = planGoals.find((goal) => goal === text);
  if (found === undefined) throw unknownName('--goal', text, planGoals);
  return found;
}

const adviceAnswer = (advice: Advice): AdviceAnswer => ({
  goal: advice.goal,
  budget: { ...advice.budget },
  needs: advice.needs,
  says: advice.says,
  plans: advice.plans.map((plan) => ({
    name: plan.name,
    reason: plan.reason,
    fits: plan.fits,
    plan: planAnswer(plan),
  })),
  refused: advice.refused.map((item) => ({ ...item })),
});

const goalWords: Readonly<Record<PlanGoal, string>> = {
  find: 'to find what matters',
  map: 'to map the surface',
  confirm: 'to confirm one place',
};

function adviceText(advice: Advice, around: Surroundings, assumed: string): string {
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  return [
    theme.paint('strong', `Plans ${goalWords[advice.goal]}: ${assumed}`),
    advice.says,
    ...advice.plans.flatMap(({ name, reason, properties: { cells, hours, grams } }, i) => {
      const cost =
        hours === null
          ? `${cells} cells`
          : `${cells} cells, ${hours.toFixed(1)} h, ${figures((grams ?? 0) / 1000)} kg`;
      return [
        '',
        theme.paint('strong', ` ${'ABCDE'[i]}  ${name}`),
        ...wrapped(`${cost}; ${reason}`, 76, 4),
      ];
    }),
    ...refusedLines(advice),
  ].join('\n');
}

/** Candidates that were not made; those with one reason share a line. */
function refusedLines({ refused }: Advice): string[] {
  if (refused.length === 0) return [];
  const byReason = new Map<string, string[]>();
  for (const { name, why } of refused) byReason.set(why, [...(byReason.get(why) ?? []), name]);
  const reasons = [...byReason];
  return [
    '',
    byReason.has(notSearched) ? 'Not made:' : 'Not possible here:',
    ...reasons.slice(0, 4).flatMap(([why, names]) => wrapped(`${names.join('; ')}: ${why}`, 76, 2)),
    ...(reasons.length > 4 ? [`  and ${reasons.length - 4} more reasons`] : []),
  ];
}
