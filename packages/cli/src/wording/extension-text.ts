import type { Extension, Factor, PlanProperties } from '@strandwise/core';
import { wrapped } from '../terminal/line.ts';
import type { Theme } from '../theme.ts';
import { runTableLines, tableLines } from './plan-text.ts';
import { chance, dfWords, lossWords } from './plan-word.ts';

const WIDTH = 78;

/** What an extension adds and what it changes, before beside after. */
export function extensionText(
  extension: Extension,
  factors: readonly Factor[],
  theme: Theme,
): string {
  const { runs, leftOut, before, after, hours, grams, says, notes } = extension;
  const cost =
    hours >= 0
      ? `${hours.toFixed(1)} h more, ${Math.round(grams)} g more`
      : `${(-hours).toFixed(1)} h less`;
  return [
    theme.paint('strong', says),
    `  ${cost}; plan then has ${after.cells} cells`,
    ...(leftOut.length > 0 ? [`  cells ${leftOut.join(', ')} give way`] : []),
    ...[...new Set(notes)].flatMap((note) => wrapped(note, WIDTH, 2)),
    '',
    ...changeLines(before, after, theme),
    '',
    ...(runs.length > 0 ? runTableLines(runs, factors, newUnderFlushed(extension)) : []),
  ].join('\n');
}

/** New cells, by number, whose hold is too short; they are the last of the plan as it will be. */
const newUnderFlushed = ({ runs, after }: Extension): number[] => {
  const short = new Set(after.underFlushed);
  return runs
    .filter((_, i) => short.has(after.cells - runs.length + i + 1))
    .map(({ runOrder }) => runOrder);
};

function changeLines(before: PlanProperties, after: PlanProperties, theme: Theme): string[] {
  const number = (value: number): string => value.toFixed(2);
  const worst = ({ fractionOfRegion }: PlanProperties): number =>
    fractionOfRegion.standardErrors.at(-1)!;
  const names = [...new Set([...after.terms, ...before.terms].map(({ name }) => name))];
  const power = ({ terms }: PlanProperties, name: string): string => {
    const term = terms.find((candidate) => candidate.name === name);
    return term ? chance(term.power) : 'not in model';
  };
  const rows = [
    ['cells', String(before.cells), String(after.cells)],
    ['prediction error, average', number(before.averageError), number(after.averageError)],
    ['prediction error, at worst', number(worst(before)), number(worst(after))],
    ['worst loss of one cell', shortLoss(before), shortLoss(after)],
    ...names
      .filter((name) => name !== 'intercept')
      .map((name) => [`chance: ${name}`, power(before, name), power(after, name)]),
  ];
  return [
    theme.paint('strong', 'BEFORE AND AFTER'),
    ...tableLines(
      ['', 'before', 'after'],
      rows.map(([head, ...values]) => [head!.padEnd(32), ...values]),
    ),
    `  error df before  ${dfWords(before)}`,
    `  error df after   ${dfWords(after)}`,
    ...doubts('before', before),
    ...doubts('after', after),
  ];
}

const shortLoss = (properties: PlanProperties): string =>
  properties.worstLoss?.kind === 'grows'
    ? `+${(100 * (properties.worstLoss.growth - 1)).toFixed(0)} %`
    : lossWords(properties) === ''
      ? ''
      : 'terms lost';

const doubts = (when: string, { cannotTell }: PlanProperties): string[] =>
  cannotTell.length === 0
    ? [`  cannot tell ${when}: nothing that was asked`]
    : wrapped(`cannot tell ${when}: ${cannotTell.map(({ words }) => words).join(' ')}`, WIDTH, 2);
