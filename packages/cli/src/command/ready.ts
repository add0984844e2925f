import {
  barrelMaterial,
  type Happening,
  type Journal,
  type Readiness,
  type RunException,
  readiness,
} from '@strandwise/core';
import { themeOf, themeWish } from '../theme.ts';
import { readyText } from '../wording/ready-text.ts';
import type { Command, ExitCode, Given } from './command.ts';
import { whoOption, withStudy } from './study-file.ts';
import { numberOption, textOption, UsageError } from './usage-error.ts';

export const readyCommand: Command = {
  name: 'ready',
  summary: 'before heating: may it be run, dried how, started where, barrel changed over how',
  usage: 'ready STUDY [--barrel NAME]',
  example: {
    line: 'strandwise ready px-31.strandwise --barrel PETG',
    says: 'says how to dry PX-31, how to push PETG out step by step with grams, and where to start; exit code 1 when it must not be heated.',
  },
  options: {
    barrel: {
      type: 'string',
      value: 'NAME',
      says: 'what the barrel holds now: a family, a grade, or "clean" (default: as last recorded)',
    },
    before: {
      type: 'string',
      multiple: true,
      value: 'FAMILY',
      says: 'also run since the last mechanical cleaning; may be given again',
    },
    'dried-to': { type: 'string', value: 'PPM', says: 'moisture out of the dryer, when measured' },
    'excepted-by': {
      type: 'string',
      value: 'NAME',
      says: 'person with authority who allows what is refused by default; recorded',
    },
    because: { type: 'string', value: 'TEXT', says: 'with --excepted-by: the reason; recorded' },
    json: { type: 'boolean', says: 'readiness as JSON' },
    ...whoOption,
  },
  run(given, around) {
    return withStudy<ExitCode>(given, around, (journal): ExitCode => {
      const exception = exceptionFrom(given);
      const { barrel, ready } = readinessOf(journal, given, exception);
      if (exception) recordException(journal, exception, ready);
      const theme = themeOf(themeWish(around.env, around.isTerminal));
      if (given.options['json']) around.out(JSON.stringify({ barrel, ...ready }, null, 2));
      else around.out(readyText(ready, { theme, columns: around.columns, barrel }));
      return ready.verdict === 'may heat' ? 0 : 1;
    });
  },
};

function readinessOf(
  journal: Journal,
  { options }: Given,
  exception: RunException | undefined,
): { barrel: string; ready: Readiness } {
  const { opened, barrelHolds, exceptions } = journal.state();
  const barrel = textOption(options, 'barrel') ?? barrelHolds;
  if (barrel === null)
    throw new UsageError(
      'say what is in the barrel with --barrel NAME ("clean" if it has been cleaned); nothing is on record.',
    );
  const { grade, line } = opened;
  const driedPpm = numberOption(options, 'dried-to');
  const allowed = exception ?? exceptions.find(({ material }) => material === grade.name);
  const before = options['before'];
  const ready = readiness({
    grade,
    line,
    barrel: barrelMaterial(barrel, [grade]),
    ...(Array.isArray(before) ? { runBefore: before.map(String) } : {}),
    ...(allowed ? { exception: { by: allowed.by, reason: allowed.reason } } : {}),
    ...(driedPpm === undefined ? {} : { driedPpm }),
  });
  return { barrel, ready };
}

function exceptionFrom({ options }: Given): RunException | undefined {
  const by = textOption(options, 'excepted-by')?.trim();
  const reason = textOption(options, 'because')?.trim();
  if (by === undefined && reason === undefined) return undefined;
  if (!by || !reason)
    throw new UsageError('an exception needs a person and a reason: --excepted-by and --because.');
  return { by, reason };
}

/** Recorded only where it lifts something: what is never run stays refused. */
function recordException(journal: Journal, exception: RunException, ready: Readiness): void {
  if (ready.permission.kind !== 'excepted') return;
  const what: Happening = {
    kind: 'exception recorded',
    material: journal.state().opened.grade.name,
    ...exception,
  };
  journal.record(what, ready.permission.says);
}
