import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Dense, Powers } from '@strandwise/core';
import { expect } from 'vitest';

const root = join(import.meta.dirname, '../../datasets');

/** A table of numbers under column names. */
export interface NumberTable {
  readonly columns: readonly string[];
  readonly rows: readonly (readonly number[])[];
}

/** `datasets/<slug>/data.csv`. */
export function dataTable(slug: string): NumberTable {
  const [head, ...body] = readFileSync(join(root, slug, 'data.csv'), 'utf8')
    .trim()
    .split('\n');
  return { columns: head!.split(','), rows: body.map((line) => line.split(',').map(Number)) };
}

/** `datasets/<slug>/data.json`, for sources with several tables. */
// biome-ignore lint/suspicious/noExplicitAny: files of many shapes, read by tests only
export function dataJson(slug: string): any {
  return JSON.parse(readFileSync(join(root, slug, 'data.json'), 'utf8'));
}

/** The `cases` of `datasets/<slug>/cases.json`. */
export function caseFile(slug: string): unknown[] {
  return JSON.parse(readFileSync(join(root, slug, 'cases.json'), 'utf8')).cases;
}

/** The `expected` part of `datasets/<slug>/expected.json`. */
// biome-ignore lint/suspicious/noExplicitAny: files of many shapes, read by tests only
export function expectedOf(slug: string): any {
  return JSON.parse(readFileSync(join(root, slug, 'expected.json'), 'utf8')).expected;
}

export function column({ columns, rows }: NumberTable, name: string): Float64Array {
  const at = columns.indexOf(name);
  if (at < 0) throw new Error(`no column ${name}`);
  return Float64Array.from(rows, (row) => row[at]!);
}

/** Powers of a label of the expected files: "(Intercept)", "x1", "I(x1^2)", "x1:x2". */
export function powersOf(label: string): Powers {
  if (label === '(Intercept)') return {};
  const square = /^I\((.+)\^(\d)\)$/.exec(label);
  if (square) return { [square[1]!]: Number(square[2]) };
  return Object.fromEntries(label.split(':').map((name) => [name, 1]));
}

/** Model matrix straight from the products, independent of the core's own. */
export function matrixFor(table: NumberTable, labels: readonly string[]): Dense {
  const data = table.rows.flatMap((row) =>
    labels.map((label) =>
      Object.entries(powersOf(label)).reduce(
        (value, [name, power]) => value * row[table.columns.indexOf(name)]! ** Number(power),
        1,
      ),
    ),
  );
  return { rows: table.rows.length, cols: labels.length, data: Float64Array.from(data) };
}

/** Relative agreement, with all that is needed to read a failure. */
export function expectClose(got: number, wanted: number, tolerance: number, what: string): void {
  const off = Math.abs(got - wanted) / Math.max(Math.abs(wanted), Number.MIN_VALUE);
  expect(
    off <= tolerance || Math.abs(got - wanted) <= tolerance * 1e-3,
    `${what}: got ${got}, expected ${wanted}, difference ${got - wanted}, relative ${off}, tolerance ${tolerance}`,
  ).toBe(true);
}

/** Correct decimal digits of a value, at most 16. */
export function correctDigits(got: number, wanted: number): number {
  if (got === wanted) return 16;
  const off = wanted === 0 ? Math.abs(got) : Math.abs((got - wanted) / wanted);
  return Math.min(16, -Math.log10(off));
}
