import { DomainError } from '../error/domain-error.ts';

/** A dense matrix, row-major; shape travels with the data. */
export interface Dense {
  readonly rows: number;
  readonly cols: number;
  readonly data: Float64Array;
}

/** A matrix of zeros, shape (rows, cols). */
export function zeros(rows: number, cols: number): Dense {
  return { rows, cols, data: new Float64Array(rows * cols) };
}

/**
 * A matrix from its rows.
 * @throws {DomainError} `ragged_rows` when the rows differ in length
 */
export function denseFromRows(rows: readonly (readonly number[])[]): Dense {
  const cols = rows[0]?.length ?? 0;
  const out = zeros(rows.length, cols);
  for (const [i, row] of rows.entries()) {
    if (row.length !== cols) {
      throw new DomainError(
        'ragged_rows',
        `denseFromRows: every row must have ${cols} entries; got ${row.length} (row ${i}).`,
        { row: i, got: row.length, expected: cols },
      );
    }
    out.data.set(row, i * cols);
  }
  return out;
}

/** One row, copied. */
export function rowOf({ cols, data }: Dense, i: number): Float64Array {
  return data.slice(i * cols, (i + 1) * cols);
}

/** One column, copied. */
export function columnOf({ rows, cols, data }: Dense, j: number): Float64Array {
  return Float64Array.from({ length: rows }, (_, i) => data[i * cols + j]!);
}

/** Some columns in the order named, copied. */
export function columnsOf({ rows, cols, data }: Dense, kept: readonly number[]): Dense {
  const out = zeros(rows, kept.length);
  for (let i = 0; i < rows; i++)
    for (const [to, from] of kept.entries()) out.data[i * out.cols + to] = data[i * cols + from]!;
  return out;
}
