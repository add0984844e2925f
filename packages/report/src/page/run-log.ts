import type { Outcome } from '../figure/mark.ts';
import { fixed, noNumber } from '../format/number.ts';
import { nameInUnit } from '../format/unit.ts';
import { type Content, html } from '../markup/markup.ts';
import type { Cell, Column, Table } from '../table/table.ts';
import type { RunColumn, RunLog, RunLogRow } from './input.ts';
import {
  captionedFigure,
  captionedFigures,
  type FigureNumbers,
  folded,
  savedTable,
} from './part.ts';

const outcomeText: Readonly<Record<Outcome, string>> = {
  measured: 'measured',
  cold: 'failed cold',
  hot: 'failed hot',
  feed: 'failed to feed',
  other: 'failed',
};

/** All cells in run order, failed ones with their reason. */
export function runLogPart(runs: RunLog, next: FigureNumbers): Content {
  return [
    html`<p>${runs.sentence}</p>\n`,
    runs.traces && captionedFigure(runs.traces, next),
    runs.rows.length > 0 &&
      folded(
        'Every cell: what was set, what was read, how it ended',
        savedTable(runLogTable(runs), 'runs'),
        { prints: true },
      ),
    (runs.figures ?? []).length > 0 &&
      folded('When the time went by', captionedFigures(runs.figures, next)),
  ];
}

/** The run log as a table, for the page and for export. */
export function runLogTable({ setPoints, responses, rows }: RunLog): Table {
  const hasZoneSetting = rows.some(({ zoneSetting }) => zoneSetting !== undefined);
  const decimals = {
    setPoints: setPoints.map((column, j) =>
      decimalsOf(
        column,
        rows.map((row) => row.setPoints[j]),
      ),
    ),
    responses: responses.map((column, j) =>
      decimalsOf(
        column,
        rows.map((row) => row.responses[j]),
      ),
    ),
  };
  const numbers = ({ name, unit }: RunColumn): Column => ({
    head: nameInUnit(name, unit),
    holds: 'numbers',
  });
  return {
    caption: 'Cells in the order they were run',
    columns: [
      { head: 'run order', holds: 'numbers' },
      ...(hasZoneSetting ? [{ head: 'zone setting', holds: 'numbers' } as const] : []),
      ...setPoints.map(numbers),
      ...responses.map(numbers),
      { head: 'outcome', holds: 'words' },
    ],
    rows: rows.map((row) => [
      String(row.runOrder),
      ...(hasZoneSetting
        ? [row.zoneSetting === undefined ? noNumber : String(row.zoneSetting)]
        : []),
      ...setPoints.map((_, j) => numberCell(row.setPoints[j] ?? null, decimals.setPoints[j]!)),
      ...responses.map((_, j) => numberCell(row.responses[j] ?? null, decimals.responses[j]!)),
      outcomeWords(row),
    ]),
  };
}

/** The decimals asked for, or as few as show every value of the column, three at most. */
function decimalsOf({ decimals }: RunColumn, values: readonly unknown[]): number {
  if (decimals !== undefined) return decimals;
  const needed = values.map((value) =>
    typeof value === 'number' ? (String(Number(value.toFixed(3))).split('.')[1]?.length ?? 0) : 0,
  );
  return Math.max(0, ...needed);
}

function numberCell(value: number | string | null, decimals: number): Cell {
  if (value === null) return { shown: noNumber, exported: null };
  if (typeof value === 'string') return { shown: value };
  return { shown: fixed(value, decimals), exported: value };
}

const outcomeWords = ({ outcome, reason }: RunLogRow): string =>
  reason === undefined ? outcomeText[outcome] : `${outcomeText[outcome]}: ${reason}`;
