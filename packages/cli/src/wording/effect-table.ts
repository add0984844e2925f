import {
  type Factor,
  type FactorEffect,
  factorEffects,
  type InteractionEffect,
  interactionEffects,
  type NamedEffect,
  namedEffects,
  type ResponseSurface,
} from '@strandwise/core';
import { type Line, line, span, wrapped } from '../terminal/line.ts';
import { decimalsFor, figures, percent } from '../terminal/number.ts';
import type { Theme } from '../theme.ts';

/** One row of the table of what matters, before it is set in columns. */
interface EffectRow {
  readonly name: string;
  readonly range: string;
  readonly strip: string;
  readonly change: string;
  readonly interval: string;
  readonly reading: string;
  readonly isClear: boolean;
}

export interface EffectTableOptions {
  readonly columns: number;
  readonly aim?: 'smallest' | 'largest' | 'target' | undefined;
  /** Of the response, for changes that are differences. */
  readonly unit?: string | undefined;
}

/** Rows of the table with a word apiece are too narrow for the drawn intervals below this width. */
const ROOM_FOR_STRIP = 76;
const STRIP = 9;

/**
 * What matters, as drawn intervals: factors by how far they move the response, then factors with
 * named levels, then the interactions. A factor that the model left out says so.
 */
export function effectTable(
  surface: ResponseSurface,
  factors: readonly Factor[],
  options: EffectTableOptions,
  theme: Theme,
): Line[] {
  const effects = factorEffects(surface, factors, { aim: options.aim });
  const pairs = interactionEffects(surface, factors);
  const named = namedEffects(surface, factors);
  const isIn = (name: string): boolean =>
    surface.terms.some((powers) => Object.hasOwn(powers, name));
  const reach = Math.max(
    1e-300,
    ...[...effects.map(({ change }) => change), ...pairs.map(({ change }) => change)].flatMap(
      ({ value, low, high }) =>
        [value, low ?? 0, high ?? 0].map((v) => Math.abs(onLine(v, surface))),
    ),
  );
  const scale = { reach, surface, theme };
  const rows = [
    ...effects.filter(({ factor }) => isIn(factor)).map((effect) => factorRow(effect, scale)),
    ...named.filter(({ factor }) => isIn(factor)).map((effect) => namedRow(effect, scale)),
    ...pairs.map((pair) => pairRow(pair, scale)),
  ];
  const idle = factors.map(({ name }) => name).filter((name) => !isIn(name));
  return [
    ...setRows(rows, options.columns, headOf(surface, options.unit)),
    ...(idle.length > 0
      ? wrapped(`not in the model: ${idle.join(', ')}`, options.columns - 3, 3).map((text) =>
          line(text, 'quiet'),
        )
      : []),
  ];
}

interface StripScale {
  readonly reach: number;
  readonly surface: ResponseSurface;
  readonly theme: Theme;
}

/** A change on the line that strips are drawn over: ratios by their logarithm, so that ÷2 and ×2 match. */
function onLine(change: number, { scale }: ResponseSurface): number {
  return scale === 'ln response' || scale === 'ln rate'
    ? Math.log1p(Math.max(change, -0.999999))
    : change;
}

function factorRow(effect: FactorEffect, scale: StripScale): EffectRow {
  const { factor, unit, low, high, isRatio, change, bend, reading } = effect;
  const base = {
    name: factor,
    range: `${brief(low)} ${scale.theme.glyphs.arrow} ${brief(high)} ${unit}`.trim(),
    isClear: reading !== 'cannot tell',
  };
  if (bend && reading === 'bends') {
    const word = bend.kind === 'bowl' ? 'bowl' : 'dome';
    return {
      ...base,
      strip: placeStrip(bend, { low, high }, scale.theme),
      change: `${effect.says.startsWith('best') ? 'best' : 'turns'} near ${brief(bend.at)}`,
      interval:
        bend.low === null || bend.high === null
          ? ''
          : `${brief(bend.low)} ${scale.theme.glyphs.ellipsis} ${brief(bend.high)}`,
      reading: word,
    };
  }
  const weak = bend && !bend.isClear ? ', perhaps bent' : '';
  return {
    ...base,
    strip: changeStrip(change, base.isClear, scale),
    ...changeTexts(change, isRatio, scale),
    reading: `${reading}${weak}`,
  };
}

function namedRow({ factor, isRatio, widest, levels }: NamedEffect, scale: StripScale): EffectRow {
  const name = { name: factor, range: `${levels.length} levels` };
  if (!widest) {
    const blank = { strip: ' '.repeat(STRIP), change: '', interval: '' };
    return { ...name, ...blank, reading: 'cannot tell', isClear: false };
  }
  const { change, isClear, high, low } = widest;
  return {
    ...name,
    strip: changeStrip(change, isClear, scale),
    ...changeTexts(change, isRatio, scale),
    reading: isClear ? `${high} above ${low}` : 'cannot tell',
    isClear,
  };
}

function pairRow(pair: InteractionEffect, scale: StripScale): EffectRow {
  const { factors, isRatio, change, isClear, says } = pair;
  return {
    name: factors.join(` ${scale.theme.glyphs.times} `),
    range: '',
    strip: changeStrip(change, isClear, scale),
    ...changeTexts(change, isRatio, scale),
    reading: isClear ? says : 'cannot tell',
    isClear,
  };
}

/** Three figures, closing zeros left out. */
const brief = (value: number): string => {
  const text = figures(value);
  return /\./.test(text) && !/e/.test(text) ? text.replace(/\.?0+$/, '') : text;
};

const headOf = ({ scale }: ResponseSurface, unit: string | undefined): string =>
  scale === 'response' && unit ? `change, ${unit}` : 'change';

/** A change and its interval, decimals as the interval deserves. */
function changeTexts(
  { value, low, high }: FactorEffect['change'],
  isRatio: boolean,
  { reach, theme: { glyphs } }: StripScale,
): { readonly change: string; readonly interval: string } {
  if (low === null || high === null)
    return { change: isRatio ? percent(value) : signed(cleared(value, reach), null), interval: '' };
  const width = high - low;
  const text = (end: number): string =>
    isRatio ? percent(end).replace(/ %$/, '') : signed(end, width);
  return {
    change: isRatio ? percent(value) : signed(value, width),
    interval: `${text(low)} ${glyphs.ellipsis} ${text(high)}`,
  };
}

/** What is this much smaller than the largest change is left over from rounding. */
const cleared = (value: number, reach: number): number =>
  Math.abs(value) < 1e-12 * reach ? 0 : value;

function signed(value: number, width: number | null): string {
  const size =
    width === null || !(width > 0)
      ? figures(Math.abs(value))
      : width < 1e-5
        ? Math.abs(value).toExponential(1)
        : Math.abs(value).toFixed(decimalsFor(width));
  if (Number(size) === 0) return size;
  return `${value < 0 ? '−' : '+'}${size}`;
}

/** A change with its interval on a line through zero. */
function changeStrip(
  { value, low, high }: FactorEffect['change'],
  isClear: boolean,
  { reach, surface, theme }: StripScale,
): string {
  const { glyphs } = theme;
  const at = (change: number): number =>
    Math.round(((onLine(change, surface) / reach + 1) / 2) * (STRIP - 1));
  const letters = new Array<string>(STRIP).fill(glyphs.rule);
  letters[(STRIP - 1) / 2] = theme.isUnicode ? '┼' : '+';
  if (low !== null && high !== null)
    for (let i = Math.max(0, at(low)); i <= Math.min(STRIP - 1, at(high)); i++)
      letters[i] = theme.isUnicode ? '━' : '=';
  letters[at(value)] = isClear ? glyphs.dot : glyphs.openDot;
  return letters.join('');
}

/** Where in its range a factor turns, with the interval. */
function placeStrip(
  { at, low, high, kind }: NonNullable<FactorEffect['bend']>,
  range: { readonly low: number; readonly high: number },
  theme: Theme,
): string {
  const place = (value: number): number =>
    Math.min(
      STRIP - 1,
      Math.max(0, Math.round(((value - range.low) / (range.high - range.low)) * (STRIP - 1))),
    );
  const letters = new Array<string>(STRIP).fill(theme.glyphs.rule);
  if (low !== null && high !== null)
    for (let i = place(low); i <= place(high); i++) letters[i] = theme.isUnicode ? '━' : '=';
  letters[place(at)] = kind === 'bowl' ? theme.glyphs.bowl : theme.glyphs.dome;
  return letters.join('');
}

/** Readings that do not fit beside their row stand below it. */
function setRows(rows: readonly EffectRow[], columns: number, changeHead: string): Line[] {
  if (rows.length === 0) return [];
  const widest = (of: (row: EffectRow) => string): number =>
    Math.max(...rows.map((row) => [...of(row)].length));
  // Pairs have no range beside their name, so that they may run into its place.
  const name = Math.min(
    20,
    widest((row) => (row.range === '' ? '' : row.name)),
  );
  const range = widest((row) => row.range);
  const change = Math.max(
    changeHead.length,
    widest((row) => row.change),
  );
  const interval = Math.max(
    4,
    widest((row) => row.interval),
  );
  if (columns < 60) return narrowRows(rows, columns);
  const strip = columns >= ROOM_FOR_STRIP ? STRIP + 2 : 0;
  const left = Math.max(
    name + range + 2,
    widest((row) => (row.range === '' ? row.name : '')),
  );
  const room = columns - (3 + left + strip + change + interval + 6);
  const head =
    `   ${'from low to high'.padEnd(left)}${' '.repeat(strip)}  ${changeHead.padStart(change)}  ${'95 %'.padEnd(interval)}  ${rows.some((row) => [...row.reading].length <= room) ? 'reading' : ''}`.trimEnd();
  const body = rows.flatMap((row): Line[] => {
    // Interactions have no range of their own, so that a long pair of names may run into its place.
    const own =
      row.range === '' ? row.name : `${row.name.padEnd(name)}  ${row.range.padEnd(range)}`;
    const isBelow = [...row.reading].length > room;
    const role = row.isClear ? 'plain' : 'quiet';
    return [
      [
        span(`   ${own.padEnd(left)}`, row.isClear ? 'strong' : 'plain'),
        span(strip > 0 ? `  ${row.strip}` : ''),
        span(`  ${row.change.padStart(change)}`),
        span(`  ${row.interval.padEnd(interval)}  `, 'quiet'),
        span(isBelow ? '' : row.reading, role),
      ],
      ...(isBelow ? wrapped(row.reading, columns, 8).map((text) => line(text, role)) : []),
    ];
  });
  return [line(head, 'quiet'), ...body];
}

/** Two lines a row where one is too short for all. */
function narrowRows(rows: readonly EffectRow[], columns: number): Line[] {
  const name = Math.min(columns - 14, Math.max(...rows.map((row) => [...row.name].length)));
  return rows.flatMap((row) => [
    [span(` ${row.name.padEnd(name)} `, row.isClear ? 'strong' : 'plain'), span(row.change)],
    ...wrapped(`${row.interval}  ${row.reading}`, columns - 1, 3).map((text) =>
      line(text, 'quiet'),
    ),
  ]);
}
