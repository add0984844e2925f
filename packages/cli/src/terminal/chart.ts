import type { Theme } from '../theme.ts';
import { type Line, span } from './line.ts';

export interface ChartCurve {
  /** One letter that marks the curve's points; nothing needs colour to be read. */
  readonly mark: string;
  /** Values at equal steps along the axis; null leaves a gap. */
  readonly values: readonly (number | null)[];
}

export interface ChartWords {
  readonly below: string;
  readonly left: string;
  readonly right: string;
  readonly decimals: number;
}

const AXIS = 7;
const SHARED = '*';

/**
 * Curves over one axis from 0 up, drawn with letters: where two meet stands a star.
 *
 * @returns height + 2 lines of at most `width` letters
 */
export function chartLines(
  curves: readonly ChartCurve[],
  size: { readonly width: number; readonly height: number },
  words: ChartWords,
  theme: Theme,
): Line[] {
  const columns = Math.max(8, size.width - AXIS);
  const rows = Math.max(3, size.height);
  const known = curves.flatMap(({ values }) => values.filter((value) => value !== null));
  const top = roundedUp(Math.max(...known, 1e-9));
  const grid = Array.from({ length: rows }, () => new Array<string>(columns).fill(' '));
  for (const { mark, values } of curves) {
    for (let column = 0; column < columns; column++) {
      const value = valueAt(values, column / (columns - 1));
      if (value === null) continue;
      const row = rows - 1 - Math.round((Math.min(value, top) / top) * (rows - 1));
      const there = grid[row]![column]!;
      grid[row]![column] = there === ' ' || there === mark ? mark : SHARED;
    }
  }
  const wall = theme.isUnicode ? '│' : '|';
  const ticks = new Map([
    [0, top],
    [Math.round((rows - 1) / 2), top * (1 - Math.round((rows - 1) / 2) / (rows - 1))],
    [rows - 1, 0],
  ]);
  const body = grid.map((cells, row): Line => {
    const tick = ticks.get(row);
    const label = tick === undefined ? '' : tick.toFixed(words.decimals);
    return [span(`${label.padStart(AXIS - 2)} ${wall}`, 'quiet'), span(cells.join('').trimEnd())];
  });
  const ends = `${words.left}${words.below.padStart(Math.floor((columns + words.below.length - words.left.length - words.right.length) / 2))}`;
  return [
    ...body,
    [span(`${' '.repeat(AXIS - 1)}${theme.glyphs.rule.repeat(columns + 1)}`, 'quiet')],
    [
      span(
        `${' '.repeat(AXIS)}${ends.padEnd(columns - words.right.length)}${words.right}`,
        'quiet',
      ),
    ],
  ];
}

function valueAt(values: readonly (number | null)[], share: number): number | null {
  const place = share * (values.length - 1);
  const below = values[Math.floor(place)] ?? null;
  const above = values[Math.ceil(place)] ?? null;
  if (below === null || above === null) return null;
  return below + (place - Math.floor(place)) * (above - below);
}

/** The next of 1, 1.5, 2, 3, 5, 7.5 × a power of ten. */
function roundedUp(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  const step = [1, 1.5, 2, 3, 5, 7.5, 10].find((size) => value <= size * power * (1 + 1e-9));
  return (step ?? 10) * power;
}
