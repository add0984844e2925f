import {
  type Advice,
  type AdviceAnswer,
  type NamedPlan,
  type PlanGoal,
  planAdvice,
  planAnswer,
  planGoals,
} from '@strandwise/core';
import { unknownName } from '../input/file-error.ts';
import { wrapped } from '../terminal/line.ts';
import { figures } from '../terminal/number.ts';
import { themeOf, themeWish } from '../theme.ts';
import { assumedWords } from '../wording/plan-word.ts';
import type { Given, Surroundings } from './command.ts';
import { planOptionValues } from './plan-option.ts';
import { budgetFrom, changeFrom } from './plan-request.ts';
import type { Planning } from './planning.ts';
import { textOption } from './usage-error.ts';

export interface Advised {
  readonly text: string;
  readonly plans: readonly NamedPlan[];
  /** False when nothing fits the budget. */
  readonly isWithin: boolean;
}

/** The adviser's plans and its answer as text or JSON. */
export function advised(
  { request, responses }: Planning,
  given: Given,
  around: Surroundings,
): Advised {
  const change = changeFrom(given, request.factors, responses);
  const { starts } = planOptionValues(given.options['set']);
  const { stderr } = process;
  const advice = planAdvice(request, {
    goal: goalOf(given),
    budget: budgetFrom(given),
    change,
    ...(typeof starts === 'number' ? { starts } : {}),
    onProgress: (done, of) => {
      if (stderr.isTTY)
        stderr.write(done < of ? `\r looking at plan ${done + 1} of ${of}` : '\r\u001B[2K');
    },
  });
  const isJson = given.options['json'] === true;
  return {
    text: isJson
      ? JSON.stringify(adviceAnswer(advice), null, 2)
      : adviceText(advice, around, assumedWords(change)),
    plans: advice.plans,
    isWithin: advice.needs === null && advice.plans.length > 0,
  };
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

function refusedLines({ refused }: Advice): string[] {
  if (refused.length === 0) return [];
  return [
    '',
    'Not possible here:',
    ...refused.slice(0, 4).flatMap(({ name, why }) => wrapped(`${name}: ${why}`, 76, 2)),
    ...(refused.length > 4 ? [`  and ${refused.length - 4} more`] : []),
  ];
}
