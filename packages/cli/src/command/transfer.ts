import { existsSync } from 'node:fs';
import { basename, resolve } from 'node:path';
import {
  type CheckRuns,
  checkFamily,
  checkPlan,
  checkReadings,
  checkRuns,
  checkStudy,
  codedPoint,
  type Journal,
  Line,
  openJournal,
  pointOf,
  predictorOf,
  type StudyState,
  settingsOf,
  studyFits,
  type TransferVerdict,
  transferVerdict,
  usualProbability,
  watchedFactors,
} from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { readDocument } from '../input/read-document.ts';
import { type StudyRecipe, studyRecipe } from '../release/study-recipe.ts';
import { themeOf, themeWish } from '../theme.ts';
import { transferLines } from '../wording/transfer-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { signerOf, studyEnding, whoOption } from './study-file.ts';
import { numberOption, textOption, UsageError, wholeOption } from './usage-error.ts';

/** Check runs unless said otherwise. */
const usualRuns = 6;

export const transferCommand: Command = {
  name: 'transfer',
  summary: 'does the recipe hold on the next lot or line: a few check runs instead of a whole plan',
  usage: 'transfer STUDY CHECK.strandwise [--lot NAME] [--line FILE] [--runs N]',
  example: {
    line: 'strandwise transfer px-31.strandwise px-31-lot-8.strandwise --lot 8',
    says: 'makes the check study with six runs on the flanks of the recipe; once walked, the same command says "recipe holds", which set points to shift, or "re-qualify".',
  },
  options: {
    lot: { type: 'string', value: 'NAME', says: 'lot of pellets that is checked' },
    line: {
      type: 'string',
      value: 'FILE',
      says: 'another line that the recipe goes to; "schema line" shows its fields',
    },
    runs: { type: 'string', value: 'N', says: `check runs (default ${usualRuns})` },
    watch: {
      type: 'string',
      multiple: true,
      value: 'FACTOR',
      says: 'factor that may have moved (default: the level); may be given again',
    },
    asked: {
      type: 'string',
      value: 'P',
      says: `chance of conforming that is asked (default ${usualProbability})`,
    },
    json: { type: 'boolean', says: 'check runs, or the verdict, as JSON' },
    ...whoOption,
  },
  run(given, around) {
    const [from, to] = given.rest;
    if (from === undefined || to === undefined)
      throw new UsageError('name the qualified study and then the check study.');
    const path = resolve(around.cwd, to.includes('.') ? to : `${to}${studyEnding}`);
    const old = readState(resolve(around.cwd, from), around);
    return existsSync(path)
      ? judgeCheck(old, path, given, around)
      : makeCheck(old, path, given, around);
  },
};

function readState(path: string, around: Surroundings): StudyState {
  const store = sqliteStudyStore(path, { mode: 'read' });
  try {
    return openJournal(store, around.clock, 'reader').state();
  } finally {
    store.close();
  }
}

function recipeOf(state: StudyState, { options }: Given): StudyRecipe & { settings: Float64Array } {
  const asked = numberOption(options, 'asked') ?? usualProbability;
  if (!(asked > 0 && asked < 1))
    throw new UsageError(`--asked must lie between 0 and 1; got ${asked}.`);
  const found = studyRecipe(state, asked);
  const { factors, line } = state.opened;
  const natural = pointOf(found.recipe.setPoints, factors, line);
  // Terms kept because they looked large would promise too sharp an eye: a shift is read off all of them.
  const predictor = predictorOf(state, studyFits(state));
  return { ...found, predictor, settings: settingsOf(codedPoint(natural, factors), factors) };
}

const watchOption = ({ options }: Given): string[] | undefined =>
  Array.isArray(options['watch']) ? options['watch'].map(String) : undefined;

function makeCheck(old: StudyState, path: string, given: Given, around: Surroundings): ExitCode {
  const { predictor, settings } = recipeOf(old, given);
  const lot = textOption(given.options, 'lot');
  const lineFile = textOption(given.options, 'line');
  if (lot === undefined && lineFile === undefined)
    throw new UsageError('say what is new: --lot NAME, --line FILE, or both.');
  const line =
    lineFile === undefined ? undefined : readDocument(resolve(around.cwd, lineFile), Line);
  if (line && line.zones.length !== old.opened.line.zones.length)
    throw new UsageError(
      `the recipe has ${old.opened.line.zones.length} zones and the new line ${line.zones.length}: its profile cannot be carried over. Qualify the grade there.`,
    );
  const watch = watchOption(given);
  const runs = checkRuns({
    predictor,
    recipe: settings,
    runs: wholeOption(given.options, 'runs') ?? usualRuns,
    ...(watch ? { watch } : {}),
  });
  const name = `${old.opened.name}: check${lot === undefined ? '' : ` of lot ${lot}`}${line ? ` on ${line.name}` : ''}`;
  const opened = checkStudy(old, {
    name: name.slice(0, 80),
    ...(lot === undefined ? {} : { lot }),
    ...(line ? { line } : {}),
  });
  const plan = checkPlan(runs, old, opened);
  const store = sqliteStudyStore(path, { mode: 'create' });
  try {
    const at = new Date(around.clock.now()).toISOString();
    const who = signerOf(given, around);
    store.append(
      [
        { at, who, what: opened },
        { at, who, what: { kind: 'plan adopted', plan } },
      ],
      0,
    );
  } finally {
    store.close();
  }
  toldRuns(runs, plan.hours ?? 0, basename(path), given, around);
  return 0;
}

function toldRuns(
  runs: CheckRuns,
  hours: number,
  file: string,
  { options }: Given,
  around: Surroundings,
): void {
  if (options['json']) {
    const places = runs.places.map(({ settings }) => Array.from(settings));
    around.out(JSON.stringify({ ...runs, places, hours }, null, 2));
    return;
  }
  around.out(runs.says);
  around.out(
    `${runs.places.length} check runs in ${file}, about ${hours.toFixed(1)} h. Next: strandwise walk ${file}`,
  );
}

function judgeCheck(old: StudyState, path: string, given: Given, around: Surroundings): ExitCode {
  const store = sqliteStudyStore(path, { mode: 'open' });
  try {
    const journal = openJournal(store, around.clock, signerOf(given, around));
    const check = journal.state();
    if (check.plan?.family !== checkFamily)
      throw new UsageError(`${basename(path)} holds no check runs. Name a new file to make some.`);
    if (check.queue.length > 0) {
      around.out(
        `${check.cells.length - check.queue.length} of ${check.cells.length} check runs are done. Next: strandwise walk ${basename(path)}`,
      );
      return 0;
    }
    const verdict = verdictOf(old, check, given);
    recordVerdict(journal, verdict);
    const theme = themeOf(themeWish(around.env, around.isTerminal));
    if (given.options['json']) around.out(JSON.stringify(verdict, null, 2));
    else around.out(transferLines(verdict, { theme, columns: around.columns }).join('\n'));
    return verdict.kind === 're-qualify' ? 1 : 0;
  } finally {
    store.close();
  }
}

function verdictOf(old: StudyState, check: StudyState, given: Given): TransferVerdict {
  const { predictor, recipe, settings } = recipeOf(old, given);
  return transferVerdict({
    predictor,
    recipe: settings,
    watched: watchedFactors(old.opened.factors, watchOption(given)),
    ...checkReadings(check),
    asked: recipe.asked,
    line: check.opened.line,
  });
}

/** Kept in the check study's log, once. */
function recordVerdict(journal: Journal, { says }: TransferVerdict): void {
  const text = `Check of the recipe. ${says}`.slice(0, 2000);
  if (!journal.state().notes.some((note) => note.text === text))
    journal.record({ kind: 'note written', cell: null, text });
}
