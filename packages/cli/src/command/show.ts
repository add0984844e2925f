import { basename } from 'node:path';
import {
  currentCell,
  type Factor,
  isNumeric,
  openJournal,
  type StudyEvent,
  type StudyState,
  studyState,
} from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { nextAction } from '../workbench/next-action.ts';
import type { Command } from './command.ts';
import { studyPath } from './study-file.ts';

export const showCommand: Command = {
  name: 'show',
  summary: 'where a study stands, its cells and its log of entries',
  usage: 'show STUDY [--entries] [--json]',
  example: {
    line: 'strandwise show px-31.strandwise',
    says: 'prints the stage, what comes next, and one line a cell.',
  },
  options: {
    entries: { type: 'boolean', says: 'every entry: who, when, what, why' },
    json: { type: 'boolean', says: 'the folded state as JSON' },
  },
  run(given, around) {
    const path = studyPath(given, around);
    const store = sqliteStudyStore(path, { mode: 'read' });
    try {
      const journal = openJournal(store, around.clock, 'reader');
      if (given.options['json']) around.out(JSON.stringify(journal.state(), null, 2));
      else if (given.options['entries']) around.out(journal.events().map(entryLine).join('\n'));
      else around.out(studySummary(journal.events(), path));
    } finally {
      store.close();
    }
    return 0;
  },
};

/** A study in a dozen lines. */
export function studySummary(events: readonly StudyEvent[], path: string): string {
  const state = studyState(events);
  const { name, grade, line, product, factors, invented } = state.opened;
  const { stage, says, command } = nextAction(state);
  return [
    `${name}${invented ? ' (invented example)' : ''}   stage: ${stage}`,
    `  grade    ${grade.name}, ${grade.family}, barrel ${grade.floorCelsius} to ${grade.ceilingCelsius} °C`,
    `  line     ${line.name}, ${line.zones.length} ${line.zones.length === 1 ? 'zone' : 'zones'}, puller loop ${line.puller.loop}`,
    `  target   ${product.diameterMm} ± ${product.toleranceMm} mm`,
    ...factors.map((factor, i) => `  ${i === 0 ? 'factors' : '       '}  ${factorLine(factor)}`),
    ...cellLines(state),
    ...recipeLine(state),
    `  file     ${path}`,
    `  next     ${says}`,
    ...(command
      ? [
          `           strandwise ${[command[0], quoted(basename(path)), ...command.slice(1)].join(' ')}`,
        ]
      : []),
  ].join('\n');
}

function recipeLine({ recipe, released }: StudyState): string[] {
  if (!recipe) return [];
  const standing = released ? `released as version ${released.version}` : 'proposed';
  const { zonesCelsius, screwRpm, fanPercent } = recipe.setPoints;
  return [
    `  recipe   ${zonesCelsius.join(' · ')} °C, screw ${screwRpm} rpm, fan ${fanPercent} %, ${standing}`,
  ];
}

const quoted = (word: string): string => (/\s/.test(word) ? `"${word}"` : word);

function factorLine(factor: Factor): string {
  const name = factor.name.padEnd(8);
  return isNumeric(factor)
    ? `${name} ${factor.low} to ${factor.high}${factor.unit ? ` ${factor.unit}` : ''}, ${factor.changes} to change`
    : `${name} ${factor.levels.join(', ')}, ${factor.changes} to change`;
}

function cellLines(state: StudyState): string[] {
  if (state.plan === null) return ['  plan     none yet'];
  const count = (status: string): number =>
    state.cells.filter((cell) => cell.status === status).length;
  const next = currentCell(state);
  return [
    `  plan     ${state.plan.family}, ${state.cells.length} cells: ${count('done')} done, ${count('failed')} failed, ${state.queue.length} to do`,
    ...(next ? [`  now      cell ${next.cell}, ${next.status}`] : []),
  ];
}

function entryLine({ seq, at, who, what, why }: StudyEvent): string {
  const { kind, ...rest } = what;
  const detail =
    kind === 'plan adopted' || kind === 'study opened' ? '' : ` ${JSON.stringify(rest)}`;
  return `${String(seq).padStart(5)}  ${at}  ${who}  ${kind}${detail}${why ? `  because: ${why}` : ''}`;
}
