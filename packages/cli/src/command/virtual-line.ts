import { existsSync } from 'node:fs';
import { resolve } from 'node:path';
import {
  adoptedPlan,
  NumericFactor,
  openedFrom,
  openJournal,
  planOf,
  StudyDescription,
  studyDefaults,
} from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { demoScenario, virtualGrades } from '@strandwise/virtual-line';
import { unknownName } from '../input/file-error.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { signerOf, studyEnding, whoOption } from './study-file.ts';
import { textOption, UsageError, wholeOption } from './usage-error.ts';
import { walkCommand } from './walk.ts';

export const virtualLineCommand: Command = {
  name: 'virtual-line',
  summary: 'practise the whole walk on a virtual line, failures included, in accelerated time',
  usage: 'virtual-line [PRACTICE.strandwise] [--grade NAME] [--speed N]',
  example: {
    line: 'strandwise virtual-line --speed 120',
    says: 'makes a practice study with wide ranges, so that some cells fail, and opens the walk on it; the same name again goes on where it was left.',
  },
  options: {
    grade: {
      type: 'string',
      value: 'NAME',
      says: `invented grade: ${virtualGrades.map(({ name }) => name).join(', ')} (default PX-31)`,
    },
    speed: { type: 'string', value: 'N', says: 'seconds of the line a second (default 60)' },
    seed: { type: 'string', value: 'N', says: 'seed of plan and line (default 1)' },
    ...whoOption,
  },
  async run(given, around): Promise<ExitCode> {
    const name = given.rest[0] ?? 'practice';
    const path = resolve(around.cwd, name.includes('.') ? name : `${name}${studyEnding}`);
    if (!existsSync(path)) makePractice(path, given, around);
    around.tell(`Practice study: ${path}`);
    if (!process.stdin.isTTY || !around.isTerminal) {
      around.out(`strandwise walk ${path} --gauge virtual`);
      return 0;
    }
    const { speed, who } = given.options;
    const options = {
      gauge: 'virtual',
      ...(speed === undefined ? {} : { speed }),
      ...(who === undefined ? {} : { who }),
    };
    return walkCommand.run({ options, rest: [path] }, around);
  },
};

/** Ranges past both edges of the window, so that a learner meets every way to fail. */
const practiceFactors = [
  { name: 'level', low: 172, high: 214, unit: '°C', changes: 'hard', acts: 'level' },
  { name: 'screw', low: 3, high: 7, unit: 'rpm', changes: 'semi-hard', acts: 'screw' },
  { name: 'fan', low: 20, high: 80, unit: '%', changes: 'easy', acts: 'fan' },
].map((factor) => NumericFactor.parse(factor));

function makePractice(path: string, { options }: Given, around: Surroundings): void {
  const wanted = textOption(options, 'grade') ?? 'PX-31';
  const virtual = virtualGrades.find(({ name }) => name.toLowerCase() === wanted.toLowerCase());
  if (!virtual)
    throw unknownName(
      '--grade',
      wanted,
      virtualGrades.map(({ name }) => name),
    );
  if (path.endsWith('/')) throw new UsageError('name a file for the practice study.');
  const seed = wholeOption(options, 'seed') ?? 1;
  const { grade, line, product } = demoScenario;
  const description = StudyDescription.parse({
    name: `practice on ${virtual.name}`,
    invented: true,
    grade: { ...grade, name: `${virtual.name} (invented)` },
    line,
    product,
    factors: practiceFactors,
    seed,
  });
  const opened = openedFrom(description);
  const store = sqliteStudyStore(path, { mode: 'create' });
  try {
    const at = new Date(around.clock.now()).toISOString();
    const who = signerOf({ options, rest: [] }, around);
    store.append([{ at, who, what: opened }], 0);
    const journal = openJournal(store, around.clock, who);
    const plan = planOf({
      factors: practiceFactors,
      model: 'interactions',
      family: 'full factorial',
      options: { centrePoints: 2 },
      seed,
      surroundings: {
        line,
        grade: opened.grade,
        product,
        defaults: studyDefaults(journal.state()),
      },
    });
    journal.record({ kind: 'plan adopted', plan: adoptedPlan(plan) });
  } finally {
    store.close();
  }
}
