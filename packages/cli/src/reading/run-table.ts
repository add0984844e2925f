import {
  DomainError,
  isNamed,
  type NamedFactor,
  nearestName,
  type RunTable,
  type Spec,
} from '@strandwise/core';
import { InputFileError } from '../input/file-error.ts';
import { columnNumbers, marksOf, saysNothing } from './column-numbers.ts';
import type { DelimitedText } from './delimited-text.ts';

/** A run table under the names of a spec, and where its columns and rows stand in the file. */
export interface PlacedTable {
  readonly table: RunTable;
  /** Heads that were not written as the spec has them, in words. */
  readonly told: readonly string[];
  /** An error about a row and a column, with the place in the file. */
  readonly placed: (error: unknown) => unknown;
}

/**
 * The columns that a spec uses, under the spec's names. A head may differ in capitals, spaces, and a
 * unit in brackets ("Melt temp (°C)" for "melt temp"); a level in capitals, or in how its number is
 * written. Columns that the spec does not name are left alone.
 *
 * @throws {InputFileError} when a column is missing or two could be meant, or as `columnNumbers`
 */
export function runTable(text: DelimitedText, spec: Spec): PlacedTable {
  const used = columnsUsed(text, spec);
  const labels = new Set(labelColumns(spec));
  const named = new Map(spec.factors.filter(isNamed).map((factor) => [factor.name, factor]));
  const measured = new Set(
    spec.responses.filter(({ kind }) => kind !== 'pass-fail').map(({ name }) => name),
  );
  const numeric = [...used].filter(([name]) => !labels.has(name) && !named.has(name));
  const inFile = marksOf(
    text,
    numeric.map(([, column]) => column),
  );
  const table = [...used].map(([name, column]) => {
    const factor = named.get(name);
    const entries = text.rows.map((row) => row[column]!);
    if (factor) return [name, entries.map((entry) => levelOf(entry, factor))] as const;
    if (labels.has(name)) return [name, entries.map((e) => (saysNothing(e) ? null : e))] as const;
    return [name, columnNumbers(text, column, { inFile, mayFail: measured.has(name) })] as const;
  });
  const told = [...used].flatMap(([name, column]) => {
    const head = text.heads[column]!;
    return head === name ? [] : [`column "${head}" is taken as "${name}"`];
  });
  return {
    table: Object.fromEntries(table),
    told,
    placed: (error) => placedError(error, text, used),
  };
}

/** Columns whose entries are labels, never numbers to calculate with. */
const labelColumns = ({ wholePlot, subWholePlot, block }: Spec): string[] =>
  [wholePlot, subWholePlot, block].flatMap((name) => name ?? []);

/** Heads that the fit looks for by itself. */
const ORDER_HEADS = ['runOrder', 'run order'];

function columnsUsed(text: DelimitedText, spec: Spec): Map<string, number> {
  const { factors, responses, covariates = [], runOrder, clock } = spec;
  const wanted = [
    ...factors.map(({ name }) => ({ name, role: 'factor' })),
    ...labelColumns(spec).map((name) => ({ name, role: 'plot or block' })),
    ...covariates.map((name) => ({ name, role: 'covariate' })),
    ...responses.map(({ name }) => ({ name, role: 'response' })),
    ...responses.flatMap(({ weight }) => (weight ? [{ name: weight, role: 'weight' }] : [])),
    ...responses.flatMap(({ exposure }) =>
      exposure ? [{ name: exposure, role: 'exposure' }] : [],
    ),
    ...(runOrder ? [{ name: runOrder, role: 'run order' }] : []),
    ...(clock ? [{ name: clock, role: 'clock' }] : []),
  ];
  const used = new Map<string, number>();
  for (const { name, role } of wanted) {
    const column = columnOf(text, name, role);
    const other = [...used].find(([known, at]) => at === column && known !== name);
    if (other)
      throw new InputFileError(
        text.file,
        `line 1, column ${column + 1}: a column must stand for one name; got "${text.heads[column]}" for "${other[0]}" and "${name}". Head both columns as the spec names them.`,
      );
    used.set(name, column);
  }
  for (const name of ORDER_HEADS) {
    const column = text.heads.indexOf(name);
    if (column >= 0 && !used.has(name)) used.set(name, column);
  }
  return used;
}

/** Letters and digits alone; a unit in brackets at the end left out. */
const bare = (head: string): string =>
  head
    .replace(/\s*[([][^)\]]*[)\]]\s*$/, '')
    .normalize('NFKC')
    .toLowerCase()
    .replace(/[\s_\-.]+/g, '');

function columnOf({ file, heads }: DelimitedText, name: string, role: string): number {
  const exact = heads.indexOf(name);
  if (exact >= 0) return exact;
  const alike = heads.flatMap((head, j) => (bare(head) === bare(name) ? [j] : []));
  if (alike.length === 1) return alike[0]!;
  if (alike.length > 1)
    throw new InputFileError(
      file,
      `line 1: one column must be meant by the ${role} "${name}"; got ${alike.map((j) => `"${heads[j]}"`).join(' and ')}. Name one of them "${name}".`,
    );
  const near = nearestName(name, heads);
  throw new InputFileError(
    file,
    `line 1: the table must have a column for the ${role} "${name}"; got ${heads.join(', ')}. ${near ? `Did you mean "${near}"?` : 'Add the column or change the spec.'}`,
  );
}

/** The level an entry names; text that names none stays as it is, to be refused with its place. */
function levelOf(entry: string, { levels }: NamedFactor): string | null {
  if (levels.includes(entry)) return entry;
  if (saysNothing(entry)) return null;
  const same = levels.filter((level) => level.toLowerCase() === entry.toLowerCase());
  if (same.length === 1) return same[0]!;
  const value = Number(entry.replace(',', '.'));
  const equal = levels.filter((level) => level.trim() !== '' && Number(level) === value);
  return equal.length === 1 ? equal[0]! : entry;
}

function placedError(error: unknown, text: DelimitedText, used: ReadonlyMap<string, number>) {
  if (!(error instanceof DomainError)) return error;
  const { row, column, factor } = error.detail;
  const at = used.get(String(column ?? factor));
  if (typeof row !== 'number' || at === undefined) return error;
  const words = error.message.replace(/^fitTable: /, '').replace(/ \(row \d+\)/, '');
  return new InputFileError(text.file, `line ${text.lines[row - 1]}, column ${at + 1}: ${words}`);
}
