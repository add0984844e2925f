import type { Recipe, WindowRange } from '@strandwise/core';
import { type Line, line, span } from '../terminal/line.ts';
import { decimalsFor } from '../terminal/number.ts';
import type { Theme } from '../theme.ts';
import { told } from './told.ts';

/** Places on a line that shows a window inside the range studied. */
const STRIP = 25;

/** How far each factor may wander, as a strip over the range studied. */
export function roomLines(
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

/** "186 … 193", rounded inward: what is shown never allows more than was found. */
export function inwardEnds([low, high]: readonly [number, number], decimals: number): string {
  const scale = 10 ** decimals;
  const from = Math.ceil(low * scale - 1e-6) / scale;
  const to = Math.floor(high * scale + 1e-6) / scale;
  return `${from.toFixed(decimals)} … ${to.toFixed(decimals)}`;
}

function roomRow({ factor, unit, at, alone, together, studied }: WindowRange, theme: Theme) {
  const decimals = decimalsFor((studied[1] - studied[0]) / 3);
  return {
    name: unit === '' ? factor : `${factor}, ${unit}`,
    at: at.toFixed(decimals),
    alone: inwardEnds(alone, decimals),
    together: inwardEnds(together, decimals),
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
