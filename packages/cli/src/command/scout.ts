import {
  isRunnable,
  type Journal,
  middleSettings,
  permission,
  StrandLook,
  scoutAdvice,
  scoutSetPoints,
} from '@strandwise/core';
import { VirtualLine, virtualGrades } from '@strandwise/virtual-line';
import { createElement } from 'react';
import { unknownName } from '../input/file-error.ts';
import { rehearsedScout } from '../rehearsal/rehearsed-scout.ts';
import { lineClock } from '../rehearsal/rehearsed-walk.ts';
import { adoptRanges, isAdopted, scoutOf } from '../scouting/study-scout.ts';
import { themeOf, themeWish } from '../theme.ts';
import { adviceText, stepLine } from '../wording/scout-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { whoOption, withStudy } from './study-file.ts';
import { textOption, UsageError, wholeOption } from './usage-error.ts';

export const scoutCommand: Command = {
  name: 'scout',
  summary: 'bracket the window in a few steps and propose the factor ranges',
  usage: 'scout STUDY [--seen LOOK] [--adopt]',
  example: {
    line: 'strandwise scout px-31.strandwise',
    says: 'shows one setting at a time; the operator says what the strand looks like, and the next setting follows. Without a screen: --seen "holds shape".',
  },
  options: {
    seen: {
      type: 'string',
      value: 'LOOK',
      says: `record what was seen at the setting in hand: ${StrandLook.options.join(', ')}`,
    },
    adopt: { type: 'boolean', says: 'take the proposed ranges into the study' },
    undo: { type: 'boolean', says: 'take the latest step back' },
    virtual: {
      type: 'string',
      value: 'GRADE',
      says: `scout on the virtual line with an invented grade: ${virtualGrades.map(({ name }) => name).join(', ')}`,
    },
    seed: { type: 'string', value: 'N', says: 'with --virtual: seed of the line (default 1)' },
    json: { type: 'boolean', says: 'steps and advice as JSON, without the screen' },
    ascii: { type: 'boolean', says: 'plain letters only, no drawing characters' },
    ...whoOption,
  },
  run(given, around) {
    return withStudy<ExitCode>(given, around, async (journal): Promise<ExitCode> => {
      const { options } = given;
      refuseForbidden(journal);
      const seen = textOption(options, 'seen');
      const virtual = textOption(options, 'virtual');
      if (options['undo']) journal.undo();
      if (virtual !== undefined) scoutVirtually(journal, virtual, given, around);
      if (seen !== undefined) recordLook(journal, seen);
      const isHeadless =
        options['json'] ||
        options['undo'] ||
        options['adopt'] ||
        seen !== undefined ||
        virtual !== undefined;
      if (!isHeadless && process.stdin.isTTY && around.isTerminal) {
        await scoutOnScreen(journal, given, around);
        return 0;
      }
      return told(journal, given, around);
    });
  },
};

/** What is refused by default is not heated for scouting either, unless a named person allowed it. */
function refuseForbidden(journal: Journal): void {
  const { opened, exceptions } = journal.state();
  const allowed = exceptions.find(({ material }) => material === opened.grade.name);
  const rule = permission(opened.grade, allowed);
  if (!isRunnable(rule) && 'says' in rule)
    throw new UsageError(`${rule.says} "strandwise ready" records who allows it.`);
}

/** Prints where scouting stands, and adopts when asked and finished. */
function told(journal: Journal, { options }: Given, around: Surroundings): ExitCode {
  const advice = scoutAdvice(scoutOf(journal.state()));
  if (options['adopt'] && advice.kind === 'done' && !isAdopted(journal.state(), advice)) {
    adoptRanges(journal, advice.proposal);
    around.tell('The ranges stand in the study. Next: strandwise plan');
  }
  const steps = journal.state().scouting;
  if (options['json']) around.out(JSON.stringify({ steps, advice }, null, 2));
  else {
    around.out(steps.map((step, i) => stepLine(step, i + 1)).join('\n'));
    around.out(adviceText(advice, around.columns));
  }
  if (options['adopt'] && advice.kind !== 'done') {
    around.tell('Scouting is not finished; nothing was adopted.');
    return 1;
  }
  return advice.kind === 'nothing holds' ? 1 : 0;
}

function recordLook(journal: Journal, text: string): void {
  const look = StrandLook.safeParse(text);
  if (!look.success) throw unknownName('--seen', text, StrandLook.options);
  const advice = scoutAdvice(scoutOf(journal.state()));
  if (advice.kind !== 'step') return;
  const { setPoints, levelCelsius, purpose } = advice;
  journal.record({ kind: 'scout step', setPoints, levelCelsius, purpose, seen: look.data });
}

/** Goes on with scouting on the virtual line; every look is an entry of the study. */
function scoutVirtually(journal: Journal, name: string, given: Given, around: Surroundings): void {
  const grade = virtualGrades.find((one) => one.name.toLowerCase() === name.toLowerCase());
  if (!grade)
    throw unknownName(
      '--virtual',
      name,
      virtualGrades.map((one) => one.name),
    );
  const { opened } = journal.state();
  const middle = middleSettings(opened.grade, opened.line);
  const line = new VirtualLine({
    line: opened.line,
    grade,
    product: opened.product,
    seed: wholeOption(given.options, 'seed') ?? 1,
    setPoints: scoutSetPoints(middle, opened),
  });
  rehearsedScout(scoutOf(journal.state()), {
    line,
    grade,
    clock: lineClock(around.clock.now()),
    onStep: (step) => void journal.record({ kind: 'scout step', ...step }),
  });
}

async function scoutOnScreen(
  journal: Journal,
  { options }: Given,
  around: Surroundings,
): Promise<void> {
  const wish = themeWish(around.env, around.isTerminal);
  const theme = themeOf({ ...wish, unicode: wish.unicode && !options['ascii'] });
  const { fullScreen } = await import('../screen/full-screen.ts');
  const { ScoutView } = await import('../screen/scout/view.tsx');
  await fullScreen(createElement(ScoutView, { journal, clock: around.clock, theme }));
}
