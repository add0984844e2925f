import { InputFileError } from '../input/file-error.ts';
import { readText } from '../input/read-document.ts';

/** A table as it stands in a file: text entries, nothing read into them yet. */
export interface DelimitedText {
  readonly file: string;
  readonly delimiter: string;
  readonly heads: readonly string[];
  /** One list a row, as long as `heads`. */
  readonly rows: readonly (readonly string[])[];
  /** Line of the file where each row stands, from 1. */
  readonly lines: readonly number[];
}

/** Names a delimiter outright on the first line, as spreadsheets do. */
const STATED = /^sep=(.)$/i;

/**
 * Rows of delimited text: comma, semicolon or tab, told by the head line. Blank lines are passed
 * over, and so is a column without head or entries (a delimiter at the end of every line, numbers in
 * front of the rows).
 *
 * @throws {InputFileError} with line and column for a ragged row, a missing or doubled head
 */
export function readDelimited(file: string): DelimitedText {
  const text = readText(file).split(/\r\n|\n|\r/);
  const stated = STATED.exec(text[0] ?? '')?.[1];
  const at = text.findIndex((line, i) => line.trim() !== '' && !(stated && i === 0));
  const body = text.flatMap((line, i) => (i > at && line.trim() !== '' ? [i] : []));
  if (at < 0 || body.length === 0) {
    throw new InputFileError(
      file,
      'a run table needs a head line and at least one run; got fewer.',
    );
  }
  const delimiter = stated ?? delimiterOf(text[at]!);
  const heads = entries(text[at]!, delimiter, file, at + 1);
  const placed = body.flatMap((i) => {
    const row = entries(text[i]!, delimiter, file, i + 1);
    if (row.every((entry) => entry === '')) return [];
    while (row.length > heads.length && row.at(-1) === '') row.pop();
    if (row.length !== heads.length) throw raggedRow(file, i + 1, delimiter, [heads, row]);
    return [{ row, line: i + 1 }];
  });
  const rows = placed.map(({ row }) => row);
  const kept = keptColumns(file, at + 1, heads, rows);
  return {
    file,
    delimiter,
    heads: kept.map((j) => heads[j]!),
    rows: rows.map((row) => kept.map((j) => row[j]!)),
    lines: placed.map(({ line }) => line),
  };
}

/** The mark met most often outside quotes; of equals, the one that numbers hold least. */
function delimiterOf(head: string): string {
  const bare = head.replace(/"[^"]*"/g, '');
  const count = (mark: string): number => bare.split(mark).length - 1;
  return [';', '\t', ','].reduce((best, mark) => (count(mark) > count(best) ? mark : best));
}

function raggedRow(
  file: string,
  line: number,
  delimiter: string,
  [heads, row]: readonly [readonly string[], readonly string[]],
): InputFileError {
  const hint =
    delimiter === ',' && row.length > heads.length
      ? 'If commas are decimal commas here, put semicolons between the entries.'
      : 'Leave an entry empty where nothing was measured.';
  return new InputFileError(
    file,
    `line ${line}: a row must have ${heads.length} entries like the head line; got ${row.length}. ${hint}`,
  );
}

/** Places of the columns to keep. A column without a head may only number the rows, or be empty. */
function keptColumns(
  file: string,
  line: number,
  heads: readonly string[],
  rows: readonly (readonly string[])[],
): number[] {
  return heads.flatMap((head, j) => {
    const where = `line ${line}, column ${j + 1}`;
    if (head === '') {
      const isEmpty = rows.every((row) => row[j] === '');
      const areNumbers = j === 0 && rows.every((row, i) => row[j] === String(i + 1));
      if (isEmpty || areNumbers) return [];
      throw new InputFileError(
        file,
        `${where}: every column needs a head; got an empty one. Name it.`,
      );
    }
    const other = heads.indexOf(head);
    if (other === j) return [j];
    throw new InputFileError(
      file,
      `${where}: column heads must differ; got "${head}" again (first in column ${other + 1}). Rename one.`,
    );
  });
}

/** Entries of a line; quotes may hold a delimiter, a doubled quote stands for one. */
function entries(text: string, delimiter: string, file: string, line: number): string[] {
  const out: string[] = [];
  let current = '';
  let isQuoted = false;
  for (let i = 0; i < text.length; i++) {
    const letter = text[i]!;
    if (isQuoted) {
      if (letter !== '"') current += letter;
      else if (text[i + 1] === '"') {
        current += '"';
        i++;
      } else isQuoted = false;
    } else if (letter === '"' && current.trim() === '') {
      isQuoted = true;
      current = '';
    } else if (letter === delimiter) {
      out.push(current.trim());
      current = '';
    } else current += letter;
  }
  if (isQuoted)
    throw new InputFileError(
      file,
      `line ${line}, column ${out.length + 1}: a quoted entry must end on its line; got no closing quote.`,
    );
  return [...out, current.trim()];
}
