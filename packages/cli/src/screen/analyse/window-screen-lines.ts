import type {
  Chance,
  Recipe,
  Recommendation,
  SetPoints,
  SurfacePrediction,
  WindowRange,
} from '@strandwise/core';
import { type Line, line, span } from '../../terminal/line.ts';
import { decimalsFor, figures } from '../../terminal/number.ts';
import type { Theme } from '../../theme.ts';
import {
  belowAskedWords,
  cannotJudgeWords,
  edgeWords,
  nearestMissWords,
} from '../../wording/recipe-word.ts';
import { unitOf } from '../../wording/response-unit.ts';
import { told } from '../../wording/told.ts';
import { restLines } from '../../wording/window-lines.ts';
import type { AnalyseFacts } from './screen.ts';

/** A recommendation with a place. */
type Found = Extract<Recommendation, { kind: 'found' | 'nowhere acceptable' }>;

/** Places on a line that shows a window inside the range studied. */
const STRIP = 25;

/**
 * The window as a screen: what to set, how sure, what to expect, how far it may wander and what to do
 * next come first and fit 80 × 24; all else stands below.
 */
export function windowScreenLines(
  found: Recommendation,
  facts: AnalyseFacts,
  columns: number,
  theme: Theme,
): Line[] {
  if (found.kind === 'no model' || found.kind === 'nothing feasible')
    return [line(), ...told(found.says, columns, { role: 'warning' })];
  return [
    ...settingLines(found, columns, theme),
    ...verdictLines(found, facts, columns),
    ...expectedLines(found.predictions, facts, columns),
    ...roomLines(found, columns, theme),
    ...firstNext(facts, columns),
    line(),
    ...restLines(found, columns, theme),
  ];
}

function settingLines({ setPoints }: Recipe, columns: number, theme: Theme): Line[] {
  return told(setPointText(setPoints, theme), columns, { role: 'strong' });
}

/** "zones 184 · 192 · 194 · 188 °C   screw 4.4 rpm   fan 55 %". */
export function setPointText(
  { zonesCelsius, screwRpm, fanPercent, other }: SetPoints,
  { isUnicode }: Theme,
): string {
  const more = Object.entries(other).map(([name, value]) => `, ${name} ${value}`);
  return `zones ${zonesCelsius.join(isUnicode ? ' · ' : ' / ')} °C, screw ${screwRpm} rpm, fan ${fanPercent} %${more.join('')}`;
}

/** The chance, or why there is none; then everything that speaks against the place. */
function verdictLines(found: Found, { asked }: AnalyseFacts, columns: number): Line[] {
  const { chance, probability, onEdge, shortfall } = found;
  return [
    ...(found.kind === 'nowhere acceptable'
      ? told(nearestMissWords, columns, { role: 'warning' })
      : []),
    ...(probability === null
      ? told(cannotJudgeWords, columns, { role: 'warning' })
      : [line(`   chance that a spool conforms: ${chanceWords(chance, probability)}`, 'strong')]),
    ...(shortfall
      ? told(shortfall.says, columns, { role: 'warning' })
      : probability !== null && probability < asked
        ? told(belowAskedWords(asked), columns, { role: 'warning' })
        : []),
    ...(onEdge.length > 0 ? told(edgeWords(onEdge), columns, { role: 'warning' }) : []),
  ];
}

const chanceWords = (chance: Chance | null, probability: number): string =>
  chance ? chance.says : probability.toFixed(2);

/** Fitted means and where one new set-up falls, a row a response. */
function expectedLines(
  predictions: readonly SurfacePrediction[],
  { study }: AnalyseFacts,
  columns: number,
): Line[] {
  const rows = predictions.map(({ name, mean, next }) => {
    const width = mean.low === null || mean.high === null ? null : mean.high - mean.low;
    const text = (value: number): string =>
      width === null ? figures(value) : value.toFixed(decimalsFor(width));
    const unit = unitOf(name, study);
    return {
      name: unit === '' ? name : `${name}, ${unit}`,
      mean: text(mean.value),
      interval:
        mean.low === null || mean.high === null ? '' : `${text(mean.low)} … ${text(mean.high)}`,
      next: next.low === null || next.high === null ? '' : `${text(next.low)} … ${text(next.high)}`,
    };
  });
  const widest = (of: (row: (typeof rows)[number]) => string): number =>
    Math.max(4, ...rows.map((row) => [...of(row)].length));
  if (columns < 70)
    return rows.flatMap((row) => told(`${row.name} ${row.mean} (${row.interval})`, columns));
  const [name, mean, interval] = [
    widest((row) => row.name),
    widest((row) => row.mean),
    widest((row) => row.interval),
  ];
  return [
    line(
      `   ${'expect'.padEnd(name)}  ${'mean'.padStart(mean)}  ${'95 %'.padEnd(interval)}  one new set-up falls in`,
      'quiet',
    ),
    ...rows.map(
      (row): Line => [
        span(`   ${row.name.padEnd(name)}  `),
        span(row.mean.padStart(mean), 'strong'),
        span(`  ${row.interval.padEnd(interval)}  `, 'quiet'),
        span(row.next),
      ],
    ),
  ];
}

/** How far each factor may wander, as a strip over the range studied. */
function roomLines(
  { window, worstInWindow, asked }: Recipe,
  columns: number,
  theme: Theme,
): Line[] {
  if (!window) return [];
  const rows = window.map((range) => roomRow(range, theme));
  const widest = (of: (row: (typeof rows)[number]) => string): number =>
    Math.max(...rows.map((row) => [...of(row)].length));
  const [name, at, alone, together] = [
    widest((row) => row.name),
    widest((row) => row.at),
    Math.max(
      5,
      widest((row) => row.alone),
    ),
    Math.max(
      11,
      widest((row) => row.together),
    ),
  ];
  const worst = worstInWindow === null ? '' : ` (all at once ${worstInWindow.toFixed(2)})`;
  if (columns < 70)
    return [
      ...told(`may wander and stay above ${asked}, alone and all at once:`, columns, {
        role: 'quiet',
      }),
      ...rows.flatMap((row) =>
        told(`${row.name}: ${row.alone}, ${row.together}`, columns, { indent: 5 }),
      ),
    ];
  const strip = columns >= 11 + name + at + alone + together + STRIP ? STRIP : 0;
  return [
    line(
      `   ${'may wander'.padEnd(name + 2 + at)}  ${'alone'.padEnd(alone)}  ${'all at once'.padEnd(together)}  ${strip > 0 ? 'of what was studied' : ''}`.trimEnd(),
      'quiet',
    ),
    ...rows.map(
      (row): Line => [
        span(`   ${row.name.padEnd(name)}  ${row.at.padStart(at)}  `),
        span(row.alone.padEnd(alone), 'strong'),
        span(`  ${row.together.padEnd(together)}  `),
        span(strip > 0 ? row.strip : '', 'quiet'),
      ],
    ),
    ...told(`and keep a chance of ${asked} or more${worst}`, columns, { role: 'quiet' }),
  ];
}

function roomRow({ factor, unit, at, alone, together, studied }: WindowRange, theme: Theme) {
  const decimals = decimalsFor((studied[1] - studied[0]) / 3);
  const ends = ([low, high]: readonly [number, number]): string =>
    `${low.toFixed(decimals)} … ${high.toFixed(decimals)}`;
  return {
    name: unit === '' ? factor : `${factor}, ${unit}`,
    at: at.toFixed(decimals),
    alone: ends(alone),
    together: ends(together),
    strip: rangeStrip({ at, alone, together, studied }, theme),
  };
}

/** The range studied as a line, on it the part allowed alone, thicker the part allowed all at once. */
function rangeStrip(
  { at, alone, together, studied }: Pick<WindowRange, 'at' | 'alone' | 'together' | 'studied'>,
  theme: Theme,
): string {
  const place = (value: number): number =>
    Math.min(
      STRIP - 1,
      Math.max(0, Math.round(((value - studied[0]) / (studied[1] - studied[0])) * (STRIP - 1))),
    );
  const [thin, middle, thick] = theme.isUnicode ? ['·', '─', '━'] : ['.', '-', '='];
  const letters = new Array<string>(STRIP).fill(thin!);
  for (let i = place(alone[0]); i <= place(alone[1]); i++) letters[i] = middle!;
  for (let i = place(together[0]); i <= place(together[1]); i++) letters[i] = thick!;
  letters[place(at)] = theme.glyphs.dot;
  return letters.join('');
}

function firstNext({ next }: AnalyseFacts, columns: number): Line[] {
  const first = next.kind === 'known' ? next.value[0] : undefined;
  return first ? told(`next   ${first.says}`, columns, { role: 'strong' }) : [];
}
