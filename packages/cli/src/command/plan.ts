import { resolve } from 'node:path';
import {
  type AssessedPlan,
  adoptedPlan,
  assessedPlan,
  designFamilies,
  type Journal,
  type NamedPlan,
  orderTable,
  type PlanBudget,
  planAnswer,
  planComparison,
  Spec,
} from '@strandwise/core';
import { readDocument } from '../input/read-document.ts';
import { themeOf, themeWish } from '../theme.ts';
import { orderTableText, planText } from '../wording/plan-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { advised } from './plan-advice.ts';
import { besidePlans, comparisonText } from './plan-beside.ts';
import {
  besideRequest,
  budgetFrom,
  changeFrom,
  requestFromSpec,
  requestFromStudy,
  requestOptions,
  sameRatios,
} from './plan-request.ts';
import { planSearch } from './plan-search.ts';
import type { Planning } from './planning.ts';
import { whoOption, withStudy } from './study-file.ts';
import { textOption, UsageError } from './usage-error.ts';

export { requestFromStudy } from './plan-request.ts';

export const planCommand: Command = {
  name: 'plan',
  summary: 'make a plan: which cells, in which order, how many hours and grams',
  usage:
    'plan STUDY [--family NAME] [--set OPTION=VALUE] [--adopt]   |   plan STUDY --advise   |   plan STUDY --compare [--hours H] [--grams G]',
  example: {
    line: 'strandwise plan px-31.strandwise --compare --hours 16 --grams 3000',
    says: 'shows plans that fit beside each other and lets you choose one; --advise only lists them, --family shows one.',
  },
  options: {
    family: {
      type: 'string',
      value: 'NAME',
      says: `one of: ${designFamilies.map(({ name }) => name).join(', ')}`,
    },
    ...requestOptions,
    advise: { type: 'boolean', says: 'up to five plans for the goal and budget, best first' },
    compare: { type: 'boolean', says: 'up to four plans beside each other; choose one' },
    beside: {
      type: 'string',
      multiple: true,
      value: 'TEXT',
      says: 'with --compare: "FAMILY; OPTION=VALUE; order=NAME"; may be repeated (default: the advised ones)',
    },
    goal: {
      type: 'string',
      value: 'NAME',
      says: 'find what matters, map the surface (default), or confirm one place: find, map, confirm',
    },
    hours: { type: 'string', value: 'H', says: 'hours there are' },
    grams: { type: 'string', value: 'G', says: 'grams of dry resin there are' },
    choose: {
      type: 'string',
      value: 'LETTER',
      says: 'with --compare or --advise: adopt this one (A, B, …) without a screen',
    },
    orders: { type: 'boolean', says: 'the plan in every order: hours, chances and drift' },
    workers: { type: 'string', value: 'N', says: 'threads for a search; the plan is the same' },
    spec: { type: 'string', value: 'FILE', says: 'plan from a spec file alone, with no study' },
    adopt: { type: 'boolean', says: 'record the plan in the study' },
    families: { type: 'boolean', says: 'list the families and their options' },
    brief: { type: 'boolean', says: 'only what it costs and can tell in one line' },
    json: { type: 'boolean', says: 'the answer as JSON; "schema plan" shows its fields' },
    ...whoOption,
  },
  async run(given, around): Promise<ExitCode> {
    if (given.options['families']) {
      around.out(familyList());
      return 0;
    }
    const specFile = textOption(given.options, 'spec');
    if (specFile !== undefined) {
      const spec = readDocument(resolve(around.cwd, specFile), Spec);
      const request = requestFromSpec(spec, given);
      return planned(
        { request, responses: spec.responses, title: specFile, journal: null },
        given,
        around,
      );
    }
    return withStudy<ExitCode>(given, around, (journal) => {
      const state = journal.state();
      const request = requestFromStudy(state, given);
      const { responses, grade } = state.opened;
      return planned({ request, responses, title: grade.name, journal }, given, around);
    });
  },
};

async function planned(planning: Planning, given: Given, around: Surroundings): Promise<ExitCode> {
  const { options } = given;
  if (options['compare']) return compared(planning, given, around);
  if (options['advise']) return listed(planning, given, around);
  const { factors } = planning.request;
  const stated = changeFrom(given, factors, planning.responses);
  const { request, change } = sameRatios(planning.request, stated, given);
  const plan = assessedPlan(await planSearch(request, given, around), change);
  if (options['orders']) {
    const rows = orderTable(plan);
    around.out(options['json'] ? JSON.stringify(rows, null, 2) : orderTableText(rows));
    return 0;
  }
  shown(plan, given, around);
  return settled(planning, plan, given, around);
}

/** Adopts a plan when asked to, or says how. */
function settled(
  { journal }: Planning,
  plan: AssessedPlan,
  given: Given,
  around: Surroundings,
): ExitCode {
  if (given.options['adopt']) around.tell(adopt(journal, plan, given));
  else if (journal)
    around.tell('Not adopted yet: add --adopt to record it, --compare to see others.');
  return 0;
}

/** Records the plan; returns what to tell of it. */
function adopt(journal: Journal | null, { plan }: AssessedPlan, given: Given): string {
  if (!journal) throw new UsageError('a plan from a spec file has no study to be adopted in.');
  journal.record({ kind: 'plan adopted', plan: adoptedPlan(plan) });
  const study = given.rest[0];
  return `Adopted as plan ${journal.state().planVersion}. Next: strandwise sheet ${study}, strandwise walk ${study}`;
}

function shown(plan: AssessedPlan, given: Given, around: Surroundings): void {
  if (given.options['json']) {
    around.out(JSON.stringify(planAnswer(plan), null, 2));
    return;
  }
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  const text = planText(plan, theme);
  around.out(given.options['brief'] ? text.split('\n\n')[0]! : text);
}

async function listed(planning: Planning, given: Given, around: Surroundings): Promise<ExitCode> {
  const { text, plans, isWithin } = await advised(planning, given, around);
  around.out(text);
  const wanted = textOption(given.options, 'choose');
  if (wanted !== undefined) around.tell(adopt(planning.journal, lettered(plans, wanted), given));
  return isWithin ? 0 : 1;
}

async function compared(planning: Planning, given: Given, around: Surroundings): Promise<ExitCode> {
  const budget = budgetFrom(given);
  const plans = await plansToCompare(planning, given, around);
  const wanted = textOption(given.options, 'choose');
  const isScreen =
    around.isTerminal && process.stdin.isTTY && !given.options['json'] && wanted === undefined;
  if (isScreen) return comparedOnScreen(planning, plans, { budget, given, around });
  const comparison = planComparison(plans, budget);
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  around.out(
    given.options['json']
      ? JSON.stringify(comparison, null, 2)
      : comparisonText(comparison, plans, {
          title: planning.title,
          columns: around.columns,
          theme,
        }),
  );
  if (wanted !== undefined) around.tell(adopt(planning.journal, lettered(plans, wanted), given));
  return 0;
}

/** Plans named with --beside, else the best advised ones. */
async function plansToCompare(
  planning: Planning,
  given: Given,
  around: Surroundings,
): Promise<NamedPlan[]> {
  const { beside } = given.options;
  if (beside === undefined) {
    const { plans } = await advised(planning, given, around);
    if (plans.length === 0)
      throw new UsageError('no plan could be made to compare; --advise says why.');
    return plans.slice(0, 4);
  }
  const texts = (Array.isArray(beside) ? beside : [beside]).map(String);
  if (texts.length > 4)
    throw new UsageError(`--beside takes four plans at most; got ${texts.length}.`);
  const requests = texts.map((text) => besideRequest(text, planning.request));
  return besidePlans(requests, texts, { planning, given, around });
}

async function comparedOnScreen(
  { journal, title }: Planning,
  plans: readonly NamedPlan[],
  { budget, given, around }: { budget: PlanBudget; given: Given; around: Surroundings },
): Promise<ExitCode> {
  const { createElement } = await import('react');
  const { fullScreen } = await import('../screen/full-screen.ts');
  const { PlanComparisonView } = await import('../screen/plan/view.tsx');
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  let told = 'No plan chosen.';
  await fullScreen(
    createElement(PlanComparisonView, {
      title,
      plans,
      budget,
      theme,
      adopt: (plan: NamedPlan) => {
        told = adopt(journal, plan, given);
      },
    }),
  );
  around.tell(told);
  return 0;
}

function lettered(plans: readonly NamedPlan[], letter: string): NamedPlan {
  const found = plans['ABCDE'.indexOf(letter.trim().toUpperCase())];
  if (letter.trim().length === 1 && found) return found;
  const last = 'ABCDE'[plans.length - 1];
  throw new UsageError(`--choose must be a letter from A to ${last}; got "${letter}".`);
}

function familyList(): string {
  return designFamilies
    .map(({ name, says, options }) => {
      const names = Object.keys(options.shape);
      return `${name}\n    ${says}\n    options: ${names.join(', ')}`;
    })
    .join('\n');
}
