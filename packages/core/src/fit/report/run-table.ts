import { z } from 'zod';
import { DomainError, nearestName } from '../../error/domain-error.ts';

/** One entry of a run table; null where nothing was noted, as in a failed cell. */
export const Cell = z.union([z.number(), z.string(), z.null()]);
export type Cell = z.infer<typeof Cell>;

/** Runs as columns by name, all of one length, in the order they stand in the file. */
export const RunTable = z.record(z.string(), z.array(Cell));
export type RunTable = Readonly<Record<string, readonly Cell[]>>;

/**
 * Number of runs of a table.
 * @throws {DomainError} `ragged_columns` when the columns differ in length
 */
export function runCount(table: RunTable): number {
  const columns = Object.entries(table);
  const count = columns[0]?.[1].length ?? 0;
  for (const [name, cells] of columns) {
    if (cells.length === count) continue;
    throw new DomainError(
      'ragged_columns',
      `fitTable: every column must have one entry a run, ${count}; got ${cells.length} (column "${name}"). Fill the gaps with nothing, not by shifting.`,
      { column: name, expected: count, got: cells.length },
    );
  }
  return count;
}

/**
 * A column by name.
 * @param role - what it is needed for, such as "factor" or "weight"
 * @throws {DomainError} `unknown_column` when the table has none of that name
 */
export function columnNamed(table: RunTable, name: string, role: string): readonly Cell[] {
  const found = Object.hasOwn(table, name) ? table[name] : undefined;
  if (found) return found;
  const known = Object.keys(table);
  const near = nearestName(name, known);
  throw new DomainError(
    'unknown_column',
    `fitTable: the table must have a column for the ${role} "${name}"; got ${known.join(', ') || 'no columns'}. ${near ? `Did you mean "${near}"?` : 'Add the column or change the spec.'}`,
    { column: name, role, known },
  );
}

/** A cell that holds nothing: null, or text of blanks only. */
export const isBlank = (cell: Cell | undefined): boolean =>
  cell === null || cell === undefined || (typeof cell === 'string' && cell.trim() === '');

const WRITTEN_NUMBER = /^\s*[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?\s*$/i;

/**
 * A cell as a finite number; null when it is blank.
 * @param row - from 0; told from 1
 * @throws {DomainError} `not_a_number` when it holds something else
 */
export function numberIn(cell: Cell | undefined, column: string, row: number): number | null {
  if (isBlank(cell)) return null;
  // Number() alone would take "0x10" and more for numbers.
  const isWritten = typeof cell === 'number' || WRITTEN_NUMBER.test(String(cell));
  const value = isWritten ? Number(cell) : Number.NaN;
  if (Number.isFinite(value)) return value;
  throw new DomainError(
    'not_a_number',
    `fitTable: column "${column}" must hold numbers; got ${JSON.stringify(cell)} (row ${row + 1}). Mend the entry, or leave it empty when the cell failed.`,
    { column, row: row + 1, got: cell },
  );
}
