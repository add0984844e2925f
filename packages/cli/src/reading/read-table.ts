import type { RunTable } from '@strandwise/core';
import { InputFileError } from '../input/file-error.ts';
import { readText } from '../input/read-document.ts';

/**
 * A run table from delimited text: comma, semicolon or tab; a decimal comma where the delimiter is
 * not a comma. An empty entry, or a dash alone, is a cell without a value.
 *
 * @throws {InputFileError} with line and column for a ragged row, a missing or doubled head
 */
export function readTable(file: string): RunTable {
  const lines = readText(file).split(/\r\n|\n|\r/);
  while (lines.at(-1)?.trim() === '') lines.pop();
  const first = lines[0];
  if (first === undefined || lines.length < 2) {
    throw new InputFileError(
      file,
      'a run table needs a head line and at least one run; got fewer.',
    );
  }
  const delimiter = [';', '\t', ','].find((mark) => first.includes(mark)) ?? ',';
  const heads = cells(first, delimiter, file, 1);
  heads.forEach((head, i) => {
    if (head === '')
      throw new InputFileError(
        file,
        `line 1, column ${i + 1}: every column needs a head; got an empty one. Name it.`,
      );
    const other = heads.indexOf(head);
    if (other < i)
      throw new InputFileError(
        file,
        `line 1, column ${i + 1}: column heads must differ; got "${head}" again (first in column ${other + 1}). Rename one.`,
      );
  });
  const columns: Record<string, (number | string | null)[]> = Object.fromEntries(
    heads.map((head) => [head, []]),
  );
  for (const [i, text] of lines.entries()) {
    if (i === 0 || text.trim() === '') continue;
    const row = cells(text, delimiter, file, i + 1);
    if (row.length !== heads.length) {
      const hint =
        delimiter === ',' && row.length > heads.length
          ? 'If commas are decimal commas here, put semicolons between the entries.'
          : 'Leave an entry empty where nothing was measured.';
      throw new InputFileError(
        file,
        `line ${i + 1}: a row must have ${heads.length} entries like the head line; got ${row.length}. ${hint}`,
      );
    }
    for (const [j, head] of heads.entries()) columns[head]!.push(readEntry(row[j]!, delimiter));
  }
  return columns;
}

/** Entries of a line; quotes may hold a delimiter, a doubled quote stands for one. */
function cells(text: string, delimiter: string, file: string, line: number): string[] {
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

const decimalComma = /^[+-]?\d+,\d+(e[+-]?\d+)?$/i;
const plainNumber = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;

function readEntry(entry: string, delimiter: string): number | string | null {
  if (entry === '' || entry === '-' || entry === '–') return null;
  // A number beyond all range stays text, so that a complaint can show what stands there.
  if (plainNumber.test(entry)) return Number.isFinite(Number(entry)) ? Number(entry) : entry;
  if (delimiter !== ',' && decimalComma.test(entry)) return Number(entry.replace(',', '.'));
  return entry;
}
