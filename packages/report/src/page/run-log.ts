import type { Outcome } from '../figure/mark.ts';
import { fixed, noNumber, significantFigures } from '../format/number.ts';
import { nameInUnit } from '../format/unit.ts';
import { type Content, html } from '../markup/markup.ts';
import type { Cell, Column, Table } from '../table/table.ts';
import type { RunColumn, RunLog, RunLogRow } from './input.ts';
import { captionedFigures, type FigureNumbers, savedTable } from './part.ts';

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
    captionedFigures(runs.figures, next),
    savedTable(runLogTable(runs), 'runs'),
  ];
}

/** The run log as a table, for the page and for export. */
export function runLogTable({ setPoints, responses, rows }: RunLog): Table {
  const hasZoneSetting = rows.some(({ zoneSetting }) => zoneSetting !== undefined);
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
      ...setPoints.map((column, j) => numberCell(row.setPoints[j] ?? null, column)),
      ...responses.map((column, j) => numberCell(row.responses[j] ?? null, column)),
      outcomeWords(row),
    ]),
  };
}

function numberCell(value: number | string | null, { decimals }: RunColumn): Cell {
  if (value === null) return { shown: noNumber, exported: null };
  if (typeof value === 'string') return { shown: value };
  const shown = decimals === undefined ? significantFigures(value, 3) : fixed(value, decimals);
  return { shown, exported: value };
}

const outcomeWords = ({ outcome, reason }: RunLogRow): string =>
  reason === undefined ? outcomeText[outcome] : `${outcomeText[outcome]}: ${reason}`;
