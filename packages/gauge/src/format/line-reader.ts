import type { LineFaultReason } from '../file/fault-tally.ts';
import { cellOf } from './decimal.ts';
import type { LineFormat } from './line-format.ts';
import { timeStampSeconds } from './time-stamp.ts';

/** A line beyond this length is no reading of a gauge. */
export const LONGEST_LINE = 4096;

/** What reading a line came to; `undefined` is a row well read. */
export type RowFault = { readonly reason: LineFaultReason; readonly column?: number } | undefined;

/** Reads one line into a row: time in slot 0, then one slot a field; NaN where missing. */
export type LineReader = (line: string, row: Float64Array) => RowFault;

/**
 * The general reader: any format, quotes, blanks and words for "no value". The byte reader hands it
 * every line that is not plain numbers, so the two agree by construction on those and by test on the
 * rest.
 */
export function lineReader(format: LineFormat): LineReader {
  const cells = cellSplitter(format);
  const { time, fields, decimalMark, fieldCount } = format;
  return (line, row) => {
    if (line.length > LONGEST_LINE) return { reason: 'too-long' };
    const parts = cells(line);
    if (parts === undefined) return { reason: 'no-match' };
    if (fieldCount !== undefined && parts.length !== fieldCount) {
      const isTrailing = parts.length === fieldCount + 1 && parts.at(-1)!.trim() === '';
      if (!isTrailing) return { reason: 'ragged' };
    }
    row.fill(Number.NaN);
    if (time.from === 'column') {
      const text = parts[time.column - 1];
      if (text === undefined) return { reason: 'ragged' };
      const seconds = timeStampSeconds(text, time.as, decimalMark);
      if (seconds === undefined) return { reason: 'no-time', column: time.column };
      row[0] = seconds;
    }
    for (let k = 0; k < fields.length; k++) {
      const { column } = fields[k]!;
      const text = parts[column - 1];
      if (text === undefined) return { reason: 'ragged' };
      const cell = cellOf(text, decimalMark);
      if (cell.kind === 'text') return { reason: 'not-a-number', column };
      if (cell.kind === 'number') row[k + 1] = cell.value;
    }
    return undefined;
  };
}

function cellSplitter(format: LineFormat): (line: string) => readonly string[] | undefined {
  const { pattern, delimiter } = format;
  if (pattern !== undefined) {
    const expression = new RegExp(pattern);
    return (line) => {
      const match = expression.exec(line);
      return match ? match.slice(1).map((group) => group ?? '') : undefined;
    };
  }
  if (delimiter === undefined) return (line) => [line];
  return (line) => splitCells(line, delimiter);
}

/** Cells of one line; a quoted cell may hold the delimiter, and `""` in it is a quote. */
export function splitCells(line: string, delimiter: string): string[] {
  if (line.includes('"')) return quotedCells(line, delimiter);
  if (delimiter !== ' ') return line.split(delimiter);
  const text = line.trim();
  return text === '' ? [''] : text.split(/[ \t]+/);
}

function quotedCells(line: string, delimiter: string): string[] {
  const cells: string[] = [];
  let cell = '';
  let isQuoted = false;
  for (let i = 0; i < line.length; i++) {
    const c = line[i]!;
    if (isQuoted && c === '"' && line[i + 1] === '"') {
      cell += c;
      i++;
    } else if (c === '"') isQuoted = !isQuoted;
    else if (c === delimiter && !isQuoted) {
      if (delimiter !== ' ' || cell !== '') cells.push(cell);
      cell = '';
    } else cell += c;
  }
  if (delimiter !== ' ' || cell !== '') cells.push(cell);
  return cells;
}
