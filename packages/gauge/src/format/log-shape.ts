import { cellOf } from './decimal.ts';
import type { LineFormat, TimeWriting } from './line-format.ts';
import { splitCells } from './line-reader.ts';
import { timeStampSeconds } from './time-stamp.ts';

type Delimiter = NonNullable<LineFormat['delimiter']>;
export type Mark = LineFormat['decimalMark'];

/** How lines are cut into cells, before any column has a meaning. */
export interface Shape {
  readonly delimiter: Delimiter | undefined;
  readonly mark: Mark;
  readonly width: number;
  /** Rows of cells, from the first reading on. */
  readonly rows: readonly (readonly string[])[];
  /** Position of the first reading among the lines, from 0. */
  readonly firstRow: number;
  readonly header?: { readonly line: number; readonly cells: readonly string[] };
  readonly unsure: readonly string[];
}

const DELIMITERS: readonly Delimiter[] = ['\t', ';', '|', ',', ' '];

/** The delimiter and mark under which most lines are rows of values; undefined when none does. */
export function shapeOf(lines: readonly string[]): Shape | undefined {
  const options = [...DELIMITERS, undefined].flatMap((delimiter) =>
    marksFor(delimiter).map((mark) => shapeWith(lines, delimiter, mark)),
  );
  let best: { shape: Shape; score: number } | undefined;
  for (const option of options) {
    if (option && (best === undefined || option.score > best.score + 1e-9)) best = option;
  }
  return best?.shape;
}

function marksFor(delimiter: Delimiter | undefined): readonly Mark[] {
  return delimiter === ',' ? ['.'] : ['.', ','];
}

/** Scores a delimiter and mark by the share of lines that are rows of numbers of one width. */
function shapeWith(
  lines: readonly string[],
  delimiter: Delimiter | undefined,
  mark: Mark,
): { shape: Shape; score: number } | undefined {
  const cells = lines.map((line) =>
    delimiter === undefined ? [line] : splitCells(line, delimiter),
  );
  const isReadable = (row: readonly string[]): boolean =>
    row.some((cell) => cellOf(cell, mark).kind === 'number');
  const width = commonWidth(cells.filter(isReadable));
  if (width === 0 || (delimiter !== undefined && width < 2)) return undefined;
  const firstRow = cells.findIndex((row) => row.length === width && isReadable(row));
  if (firstRow < 0) return undefined;
  const body = cells.slice(firstRow).filter((row) => row.join('').trim() !== '');
  const rows = body.filter((row) => row.length === width && isReadable(row));
  const headerCells = firstRow > 0 ? cells[firstRow - 1]! : undefined;
  const isHeader = headerCells?.length === width && headerCells.some((c) => /\p{L}/u.test(c));
  const unsure: string[] = [];
  let score =
    (rows.length / body.length) * valueShare(rows, mark) +
    (isHeader ? 0.5 : 0) +
    (delimiter === ' ' ? -0.05 : 0.1);
  if (delimiter === ',' && !isHeader && looksLikeDecimalComma(rows)) {
    score -= 0.6;
  }
  if (delimiter === undefined && mark === ',') {
    unsure.push('the comma was taken as a decimal mark, not as a delimiter');
  }
  return {
    score,
    shape: {
      delimiter,
      mark,
      width,
      rows,
      firstRow,
      ...(isHeader && { header: { line: firstRow, cells: headerCells! } }),
      unsure,
    },
  };
}

/** Share of cells that are values; a column of words such as "OK" only lowers it. */
function valueShare(rows: readonly (readonly string[])[], mark: Mark): number {
  const cells = rows.flat();
  return cells.filter((cell) => isValueLike(cell, mark)).length / cells.length;
}

/** Two whole numbers a line, the second always of one length: `1,752` is one number. */
function looksLikeDecimalComma(rows: readonly (readonly string[])[]): boolean {
  const lengths = new Set(rows.map((row) => row[1]?.trim().length));
  return (
    rows.every(
      (row) => row.length === 2 && /^\s*\d{1,2}$/.test(row[0]!) && /^\d+\s*$/.test(row[1]!),
    ) && lengths.size === 1
  );
}

function commonWidth(rows: readonly (readonly string[])[]): number {
  const counts = new Map<number, number>();
  for (const row of rows) counts.set(row.length, (counts.get(row.length) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0] ?? 0;
}

function isValueLike(cell: string, mark: Mark): boolean {
  return (
    cellOf(cell, mark).kind !== 'text' || timeWritingOf([cell], mark) !== undefined || isDate(cell)
  );
}

const WRITINGS: readonly TimeWriting[] = ['iso', 'clock', 'day-month-year', 'month-day-year'];

/** The way in which all the cells write a time, or undefined. Plain numbers are not told here. */
export function timeWritingOf(cells: readonly string[], mark: Mark): TimeWriting | undefined {
  return WRITINGS.find((as) => cells.every((c) => timeStampSeconds(c, as, mark) !== undefined));
}

function isDate(cell: string): boolean {
  return /^\s*(\d{4}-\d\d-\d\d|\d{1,2}[./]\d{1,2}[./]\d{4})\s*$/.test(cell);
}
