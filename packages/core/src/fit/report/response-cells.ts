import { DomainError } from '../../error/domain-error.ts';
import type { Response } from '../../spec/spec.ts';
import type { CannotSay, CellCount } from './fit-result.ts';
import { type Cell, columnNamed, isBlank, numberIn, type RunTable } from './run-table.ts';
import type { ReadRuns, UsableRun } from './usable-run.ts';

/** The runs of one response that carry a value, on the scale of its model. */
export interface ResponseCells {
  readonly runs: readonly UsableRun[];
  /** Values as modelled: ln of a spread, 1 and 0 of pass-fail; shape (n). */
  readonly y: Float64Array;
  readonly weights: Float64Array | undefined;
  readonly exposure: Float64Array | undefined;
  readonly cells: CellCount;
  readonly cannotSay: readonly CannotSay[];
  /** A value that the model cannot take: then the response is not fitted. */
  readonly isRefused: boolean;
}

/**
 * Picks the cells of one response. Blank values are failed cells: they are counted and told, never
 * replaced. A value outside the response's domain stops the fit of that response and names the row.
 *
 * @param runName - how a run is called in words, by its row from 1
 * @throws {DomainError} `unknown_column`, `not_a_number`, `not_pass_or_fail`
 */
export function responseCells(
  response: Response,
  table: RunTable,
  read: ReadRuns,
  runName: (row: number) => string = (row) => `row ${row}`,
): ResponseCells {
  const values = columnNamed(table, response.name, 'response');
  const weight = sideColumn(table, response.weight, 'weight');
  const exposure = sideColumn(table, response.exposure, 'exposure');
  const failed: number[] = [];
  const leftOut: { row: number; why: string }[] = [];
  for (const { row, why } of read.unusable) leftOut.push({ row: row + 1, why });
  const invalid: { row: number; why: string }[] = [];
  const runs: UsableRun[] = [];
  const columns = { y: [] as number[], weight: [] as number[], exposure: [] as number[] };
  for (const run of read.usable) {
    const { row } = run;
    const value = valueIn(response, values[row], row);
    if (value === null) {
      failed.push(row + 1);
      continue;
    }
    const sides = [weight, exposure].flatMap((side) => (side ? [side] : []));
    const missing = sides.find((side) => isBlank(side.cells[row]));
    if (missing) {
      leftOut.push({ row: row + 1, why: `no ${missing.name} noted` });
      continue;
    }
    const numbers = sides.map((side) => ({
      side,
      value: numberIn(side.cells[row], side.name, row)!,
    }));
    const why = wrongValue(response, value) ?? wrongSide(numbers);
    if (why) invalid.push({ row: row + 1, why });
    runs.push(run);
    columns.y.push(response.kind === 'spread' ? Math.log(value) : value);
    for (const { side, value: number } of numbers) columns[side.role].push(number);
  }
  const total = read.usable.length + read.unusable.length;
  return {
    runs,
    y: Float64Array.from(columns.y),
    weights: weight ? Float64Array.from(columns.weight) : undefined,
    exposure: exposure ? Float64Array.from(columns.exposure) : undefined,
    cells: { total, used: invalid.length > 0 ? 0 : runs.length, failed, leftOut },
    cannotSay: sentences(response, total, runs.length, { failed, leftOut, invalid, runName }),
    isRefused: invalid.length > 0 || runs.length === 0,
  };
}

interface SideColumn {
  readonly name: string;
  readonly role: 'weight' | 'exposure';
  readonly cells: readonly Cell[];
}

function sideColumn(
  table: RunTable,
  name: string | undefined,
  role: SideColumn['role'],
): SideColumn | undefined {
  return name === undefined ? undefined : { name, role, cells: columnNamed(table, name, role) };
}

const PASSED = new Set(['1', 'pass', 'passed', 'yes', 'ok', 'true']);
const FAILED = new Set(['0', 'fail', 'failed', 'no', 'false']);

function valueIn(response: Response, cell: Cell | undefined, row: number): number | null {
  if (response.kind === 'pass-fail' && !isBlank(cell)) {
    const word = String(cell).trim().toLowerCase();
    if (PASSED.has(word)) return 1;
    if (FAILED.has(word)) return 0;
    if (!Number.isFinite(Number(word)))
      throw new DomainError(
        'not_pass_or_fail',
        `fitTable: column "${response.name}" must hold pass or fail, yes or no, 1 or 0; got ${JSON.stringify(cell)} (row ${row + 1}). Mend the entry, or leave it empty when nothing was seen.`,
        { column: response.name, row: row + 1, got: cell },
      );
  }
  return numberIn(cell, response.name, row);
}

function wrongValue({ kind }: Response, value: number): string | null {
  if (kind === 'spread' && !(value > 0))
    return `a spread must be above 0 to have a logarithm; got ${value}`;
  if (kind === 'count' && !(value >= 0 && Number.isInteger(value)))
    return `a count must be a whole number of at least 0; got ${value}`;
  if (kind === 'pass-fail' && value !== 0 && value !== 1)
    return `pass-fail must be pass or fail, 1 or 0; got ${value}`;
  return null;
}

function wrongSide(numbers: readonly { side: SideColumn; value: number }[]): string | null {
  const wrong = numbers.find(({ value }) => !(value > 0));
  return wrong
    ? `${wrong.side.role} "${wrong.side.name}" must be above 0; got ${wrong.value}`
    : null;
}

function sentences(
  response: Response,
  total: number,
  used: number,
  {
    failed,
    leftOut,
    invalid,
    runName,
  }: {
    readonly failed: readonly number[];
    readonly leftOut: CellCount['leftOut'];
    readonly invalid: readonly { readonly row: number; readonly why: string }[];
    readonly runName: (row: number) => string;
  },
): CannotSay[] {
  const out: CannotSay[] = [];
  if (used === 0) {
    const why = total === 0 ? 'the table has no runs' : `none of the ${total} cells has a value`;
    out.push({
      kind: 'all-failed',
      says: `Nothing can be fitted for ${response.name}: ${why}.`,
      rows: [...failed],
    });
  } else if (failed.length > 0) {
    out.push({
      kind: 'failed-cells',
      says: `${failed.length} of ${total} cells gave no ${response.name} (${runList(failed, runName)}). The fit rests on the other ${used} and does not know why these failed.`,
      rows: [...failed],
    });
  }
  if (leftOut.length > 0) {
    out.push({
      kind: 'left-out-runs',
      says: `${leftOut.length} of ${total} runs were left out: ${leftOut.map(({ row, why }) => `${runName(row)}, ${why}`).join('; ')}.`,
      rows: leftOut.map(({ row }) => row),
    });
  }
  if (invalid.length > 0) {
    const first = invalid[0]!;
    const more = invalid.length > 1 ? ` and ${invalid.length - 1} more such rows` : '';
    out.push({
      kind: 'invalid-value',
      says: `${response.name} was not fitted: ${first.why} (${runName(first.row)})${more}. Mend the entry, or leave it empty when the cell failed.`,
      rows: invalid.map(({ row }) => row),
    });
  }
  return out;
}

/** "rows 3, 7", "cell 4": names of one kind share their first word. */
function runList(rows: readonly number[], runName: (row: number) => string): string {
  const names = rows.slice(0, 12).map(runName);
  const [word = 'row'] = (names[0] ?? '').split(' ');
  const isOneKind = names.every((name) => name.startsWith(`${word} `));
  const shown = isOneKind
    ? `${word}${rows.length === 1 ? '' : 's'} ${names.map((name) => name.slice(word.length + 1)).join(', ')}`
    : names.join(', ');
  return `${shown}${rows.length > 12 ? ', …' : ''}`;
}
