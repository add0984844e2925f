import type { Theme } from '../theme.ts';

export interface TraceOf {
  readonly values: Float64Array;
  readonly low: number;
  readonly high: number;
  readonly columns: number;
  readonly rows: number;
}

/** Dots of a braille letter by column and row, as bits. */
const dots = [
  [0x01, 0x02, 0x04, 0x40],
  [0x08, 0x10, 0x20, 0x80],
] as const;

/**
 * Values over time as rows of letters, between `low` at the foot and `high` at the head. What lies
 * beyond is drawn at the edge. Each column shows the range of its values, so a short spike is seen.
 */
export function trace(of: TraceOf, theme: Theme): string[] {
  return theme.isUnicode ? brailleTrace(of) : plainTrace(of);
}

/** Smallest and largest value in each of `columns` equal parts; NaN where none is present. */
function ranges(values: Float64Array, columns: number): (readonly [number, number])[] {
  return Array.from({ length: columns }, (_, i) => {
    const from = Math.floor((i * values.length) / columns);
    const to = Math.max(from + 1, Math.floor(((i + 1) * values.length) / columns));
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let k = from; k < to && k < values.length; k++) {
      if (Number.isNaN(values[k])) continue;
      low = Math.min(low, values[k]!);
      high = Math.max(high, values[k]!);
    }
    return low <= high ? [low, high] : [Number.NaN, Number.NaN];
  });
}

function brailleTrace({ values, low, high, columns, rows }: TraceOf): string[] {
  const cells = Array.from({ length: rows }, () => new Uint8Array(columns));
  const steps = 4 * rows - 1;
  const level = (value: number): number =>
    Math.round(((Math.min(high, Math.max(low, value)) - low) / (high - low || 1)) * steps);
  for (const [i, [least, most]] of ranges(values, 2 * columns).entries()) {
    if (Number.isNaN(least)) continue;
    for (let step = level(least); step <= level(most); step++) {
      const down = steps - step;
      cells[down >> 2]![i >> 1]! |= dots[i & 1]![down & 3]!;
    }
  }
  return cells.map((row) => String.fromCharCode(...row.map(Number)).replace(/[\s\S]/g, braille));
}

const braille = (letter: string): string => String.fromCharCode(0x2800 + letter.charCodeAt(0));

/** Plain letters are too coarse for ranges: one mark a column, at the middle of its values. */
function plainTrace({ values, low, high, columns, rows }: TraceOf): string[] {
  const letters = Array.from({ length: rows }, () => new Array<string>(columns).fill(' '));
  for (const [i, [least, most]] of ranges(values, columns).entries()) {
    const middle = Math.min(high, Math.max(low, (least + most) / 2));
    const up = Math.round(((middle - low) / (high - low || 1)) * (rows - 1));
    if (!Number.isNaN(up)) letters[rows - 1 - up]![i] = '*';
  }
  return letters.map((row) => row.join(''));
}
