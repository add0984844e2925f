import { screeningArray, screeningRunNumbers } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { expectedOf } from './dataset.ts';

// Plackett & Burman (1946): orthogonality and |J3| of the published rows, compared exactly.

interface Published {
  readonly first_row: string;
  readonly plus_count: number;
  readonly abs_J3_distribution_over_column_triples: Readonly<Record<string, number>> | null;
}
const published: Readonly<Record<string, Published>> = expectedOf('plackett-burman');

function columnsOf(runs: number): number[][] {
  const { matrix } = screeningArray(runs);
  return Array.from({ length: matrix.cols }, (_, j) =>
    Array.from({ length: matrix.rows }, (__, i) => matrix.data[i * matrix.cols + j]!),
  );
}

/** Columns of the published design: cyclic shifts of the first row and a last row of minuses. */
function publishedColumns(firstRow: string): number[][] {
  const signs = [...firstRow].map((sign) => (sign === '+' ? 1 : -1));
  const m = signs.length;
  return Array.from({ length: m }, (_, j) => [
    ...Array.from({ length: m }, (__, i) => signs[(j - i + m) % m]!),
    -1,
  ]);
}

function tripleSums(columns: readonly (readonly number[])[]): Record<string, number> {
  const counts: Record<string, number> = {};
  const n = columns[0]!.length;
  for (let a = 0; a < columns.length; a++) {
    for (let b = a + 1; b < columns.length; b++) {
      for (let c = b + 1; c < columns.length; c++) {
        let sum = 0;
        for (let i = 0; i < n; i++) sum += columns[a]![i]! * columns[b]![i]! * columns[c]![i]!;
        const key = `${Math.abs(sum)}/${n}`;
        counts[key] = (counts[key] ?? 0) + 1;
      }
    }
  }
  return counts;
}

describe('screeningArray', () => {
  it.each(screeningRunNumbers)(
    'has balanced, orthogonal columns: XᵀX = N·I with N = %i',
    (runs) => {
      const columns = columnsOf(runs);
      expect(columns).toHaveLength(runs - 1);
      for (const [i, first] of columns.entries()) {
        expect(first.every((value) => Math.abs(value) === 1)).toBe(true);
        expect(first.reduce((sum, value) => sum + value, 0)).toBe(0);
        for (const second of columns.slice(i + 1)) {
          expect(first.reduce((sum, value, r) => sum + value * second[r]!, 0)).toBe(0);
        }
      }
    },
  );

  it.each(Object.keys(published).map(Number))(
    'spreads |J3| over triples as the published rows do with N = %i',
    (runs) => {
      const { first_row, abs_J3_distribution_over_column_triples: stated } = published[runs]!;
      const own = tripleSums(columnsOf(runs));
      expect(own).toEqual(tripleSums(publishedColumns(first_row)));
      if (stated) expect(own).toEqual(stated);
    },
  );

  it.each([8, 12, 16, 20, 24, 32, 36])(
    'has the published number of pluses a row with N = %i',
    (n) => {
      const { matrix } = screeningArray(n);
      const first = Array.from(matrix.data.subarray(0, matrix.cols));
      expect(first.filter((value) => value === 1)).toHaveLength(published[n]!.plus_count);
    },
  );
});
