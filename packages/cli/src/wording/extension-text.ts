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
  const { runs, leftOut, after, hours, grams, says, notes } = extension;
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
    ...changeLines(extension, theme),
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

/** Before beside after on the same model, then what only the plan as it will be can tell. */
function changeLines(extension: Extension, theme: Theme): string[] {
  const { before, after, afterOnSameModel } = extension;
  const same = afterOnSameModel ?? after;
  return [
    theme.paint('strong', 'BEFORE AND AFTER'),
    ...(afterOnSameModel === null
      ? []
      : wrapped(`on the model that can be told before: ${modelWords(before)}`, WIDTH, 2)),
    ...pairLines(before, same),
    ...(afterOnSameModel === null ? [] : largerLines(before, after)),
    `  error df before  ${dfWords(before)}`,
    `  error df after   ${dfWords(after)}`,
    ...doubts('before', before),
    ...doubts('after', after),
  ];
}

const number = (value: number): string => value.toFixed(2);
const worst = ({ fractionOfRegion }: PlanProperties): number =>
  fractionOfRegion.standardErrors.at(-1)!;

/** Terms that the plan can tell, the intercept apart. */
const toldTerms = ({ terms }: PlanProperties): PlanProperties['terms'] =>
  terms.filter(({ name, standardError }) => name !== 'intercept' && standardError !== null);

function pairLines(before: PlanProperties, after: PlanProperties): string[] {
  const told = toldTerms(before);
  const powerAfter = (name: string): string => {
    const term = after.terms.find((candidate) => candidate.name === name);
    return term ? chance(term.power) : 'not in model';
  };
  const rows = [
    ['cells', String(before.cells), String(after.cells)],
    ['prediction error, average', number(before.averageError), number(after.averageError)],
    ['prediction error, at worst', number(worst(before)), number(worst(after))],
    ['worst loss of one cell', shortLoss(before), shortLoss(after)],
    ...told.map(({ name, power }) => [`chance: ${name}`, chance(power), powerAfter(name)]),
  ];
  return tableLines(
    ['', 'before', 'after'],
    rows.map(([head, ...values]) => [head!.padEnd(32), ...values]),
  );
}

/** The plan as it will be on the larger model, or the smaller one when cells give way. */
function largerLines(before: PlanProperties, after: PlanProperties): string[] {
  const known = new Set(toldTerms(before).map(({ name }) => name));
  const rows = [
    ['prediction error, average', number(after.averageError)],
    ['prediction error, at worst', number(worst(after))],
    ['worst loss of one cell', shortLoss(after)],
    ...toldTerms(after).map(({ name, power }) => [
      `chance: ${name}${known.has(name) ? '' : ' (new)'}`,
      chance(power),
    ]),
  ];
  return [
    ...wrapped(
      `on the model that can be told after: ${modelWords(after)}. More terms share the cells, so each is known less well.`,
      WIDTH,
      2,
    ),
    ...tableLines(
      ['', 'before', 'after'],
      rows.map(([head, value]) => [head!.padEnd(32), '–', value!]),
    ),
  ];
}

const plainNames: Readonly<Record<string, string>> = {
  main: 'main effects',
  interactions: 'main effects and two-factor interactions',
  quadratic: 'the full quadratic',
};

const modelWords = ({ assessed, terms }: PlanProperties): string =>
  typeof assessed === 'string'
    ? (plainNames[assessed] ?? assessed)
    : `${terms.filter(({ standardError }) => standardError !== null).length} terms`;

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
