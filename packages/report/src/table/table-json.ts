import type { CsvCell } from './csv.ts';
import { plainSpaces, type Table } from './table.ts';

/** A table as data: one object a row, by the heads of the columns, with all digits. */
export interface TableData {
  readonly caption: string;
  readonly columns: readonly string[];
  readonly rows: readonly Readonly<Record<string, CsvCell>>[];
}

const plainNumber = /^[+-]?\d+(\.\d+)?$/;

/** The table for a program: numbers as numbers, what is missing as null. */
export function tableData({ caption, columns, rows }: Table): TableData {
  const heads = columns.map(({ head }) => plainSpaces(head));
  return {
    caption: plainSpaces(caption),
    columns: heads,
    rows: rows.map((row) =>
      Object.fromEntries(
        columns.map(({ holds }, j) => [heads[j]!, cellData(row[j], holds === 'numbers')]),
      ),
    ),
  };
}

function cellData(cell: Table['rows'][number][number] | undefined, isNumber: boolean): CsvCell {
  if (cell === undefined) return null;
  if (typeof cell !== 'string' && cell.exported !== undefined) return cell.exported;
  const text = plainSpaces(typeof cell === 'string' ? cell : cell.shown);
  if (!isNumber) return text;
  const narrow = text.replace('\u2212', '-').trim();
  return plainNumber.test(narrow) ? Number(narrow) : narrow === '\u2014' ? null : text;
}
