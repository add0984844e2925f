import {
  barrelMaterial,
  cautions,
  gradeMaterial,
  type Journal,
  type ShutdownAdvice,
  shutdownAdvice,
} from '@strandwise/core';
import { wrapped } from '../terminal/line.ts';
import { themeOf, themeWish } from '../theme.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { whoOption, withStudy } from './study-file.ts';
import { textOption, UsageError } from './usage-error.ts';

export const shutdownCommand: Command = {
  name: 'shutdown',
  summary: 'what may cool in the barrel, what must be purged with what, and a recorded finish',
  usage: 'shutdown STUDY [--barrel NAME] [--done [--leaves NAME]]',
  example: {
    line: 'strandwise shutdown px-31.strandwise --done --who "Robin"',
    says: 'shows the steps for what is in the barrel and records that they were taken and what stays inside.',
  },
  options: {
    barrel: {
      type: 'string',
      value: 'NAME',
      says: 'what is in the barrel (default: this grade once it has been run)',
    },
    done: { type: 'boolean', says: 'the steps were taken: record the finish' },
    leaves: {
      type: 'string',
      value: 'NAME',
      says: 'with --done: what is in the barrel now, if not as advised',
    },
    json: { type: 'boolean', says: 'the advice as JSON' },
    ...whoOption,
  },
  run(given, around) {
    return withStudy<ExitCode>(given, around, (journal): ExitCode => {
      const { advice, barrel } = adviceFor(journal, given);
      const leaves = textOption(given.options, 'leaves')?.trim();
      if (leaves !== undefined && !given.options['done'])
        throw new UsageError('--leaves goes with --done: it records what is in the barrel.');
      if (given.options['json']) around.out(JSON.stringify({ barrel, ...advice }, null, 2));
      else told(journal, { advice, barrel }, around);
      if (given.options['done']) {
        const barrelHolds = leaves || advice.leaves;
        journal.record({
          kind: 'shut down',
          barrelHolds,
          steps: advice.steps.map((step) => step.slice(0, 2000)),
        });
        around.tell(`Recorded: shut down with ${barrelHolds} in the barrel.`);
      }
      return advice.mayStay !== 'yes' && advice.purge?.kind === 'refused' ? 1 : 0;
    });
  },
};

function adviceFor(
  journal: Journal,
  { options }: Given,
): { advice: ShutdownAdvice; barrel: string } {
  const { opened, cells, scouting, barrelHolds } = journal.state();
  const given = textOption(options, 'barrel');
  const hasRun = scouting.length > 0 || cells.some(({ enteredAt }) => enteredAt !== null);
  const held = given ?? (hasRun ? opened.grade.name : barrelHolds);
  if (held === null)
    throw new UsageError('say what is in the barrel with --barrel NAME; nothing is on record.');
  const resident =
    hasRun && given === undefined
      ? gradeMaterial(opened.grade)
      : barrelMaterial(held, [opened.grade]);
  if (resident === null)
    return {
      barrel: 'clean',
      advice: {
        mayStay: 'yes',
        leaves: 'clean',
        purge: null,
        steps: ['The barrel is clean: turn the heaters off and write it down.'],
      },
    };
  return { barrel: held, advice: shutdownAdvice(resident, opened.line) };
}

const stays: Readonly<Record<ShutdownAdvice['mayStay'], string>> = {
  yes: 'may cool in the barrel',
  'short stop only': 'may stay for a short stop only; purge it before cooling',
  no: 'may not cool in the barrel; purge it',
  never: 'may never cool in the barrel',
};

function told(
  journal: Journal,
  { advice, barrel }: { advice: ShutdownAdvice; barrel: string },
  around: Surroundings,
): void {
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  const room = Math.min(around.columns, 100);
  const role = advice.mayStay === 'yes' ? 'strong' : 'danger';
  around.out(theme.paint(role, `${barrel} ${stays[advice.mayStay]}.`));
  for (const [i, step] of advice.steps.entries())
    around.out(wrapped(`${i + 1}. ${step}`, room, 2).join('\n'));
  around.out('');
  for (const { says } of cautions('shutdown', journal.state().opened.grade))
    around.out(wrapped(says, room, 2).join('\n'));
}
