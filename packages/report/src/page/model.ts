import {
  decimalsFor,
  fixed,
  noNumber,
  probabilityValue,
  significantFigures,
} from '../format/number.ts';
import { interval } from '../format/uncertainty.ts';
import { type Content, html } from '../markup/markup.ts';
import { type Cell, type Table, tableHtml } from '../table/table.ts';
import type { ModelReport, TermRow, VarianceRow } from './input.ts';
import {
  bulletList,
  type FigureNumbers,
  factList,
  folded,
  pairedFigures,
  savedTable,
  slug,
} from './part.ts';

/** One response's model: its verdict, and folded away the checks and the terms. */
export function modelPart(model: ModelReport, next: FigureNumbers): Content {
  const figures = model.checks.flatMap(({ sentence, figure }) =>
    figure ? [{ ...figure, note: noteOf(sentence, figure.note) }] : [],
  );
  const bare = model.checks.flatMap(({ sentence, figure }) => (figure ? [] : [sentence]));
  return [
    html`<h3>${model.response}</h3>\n<p>${model.verdict}</p>\n`,
    model.checks.length > 0 &&
      folded(`Every check of the model of ${model.response}, with its picture`, [
        bulletList(bare),
        pairedFigures(figures, next),
      ]),
    folded(`The terms of the model of ${model.response}`, [
      html`<p>${model.sentence}</p>\n`,
      savedTable(termTable(model), `model-${slug(model.response)}`),
      model.variance.length > 0 && tableHtml(varianceTable(model)),
      (model.tables ?? []).map((table) => tableHtml(table)),
      factList(model.facts),
    ]),
  ];
}

const noteOf = (sentence: string, note: string | undefined): string =>
  note === undefined ? sentence : `${sentence} ${note}`;

/** Terms with their estimates, for the page and for export. */
export function termTable({ response, statistic, terms }: ModelReport): Table {
  return {
    caption: `Terms of the model of ${response}`,
    columns: [
      { head: 'term', holds: 'words' },
      { head: 'estimate', holds: 'numbers' },
      { head: 'standard error', holds: 'numbers' },
      { head: 'df', holds: 'numbers' },
      { head: statistic, holds: 'numbers' },
      { head: 'p', holds: 'numbers' },
    ],
    rows: terms.map(termCells),
  };
}

function termCells({
  name,
  estimate,
  standardError,
  df,
  statistic,
  p,
}: TermRow): (Cell | string)[] {
  const decimals = Number.isFinite(standardError)
    ? decimalsFor(standardError, 2)
    : decimalsFor(estimate, 4);
  const number = (value: number | null, shown: (x: number) => string): Cell => ({
    shown: value === null ? noNumber : shown(value),
    exported: value,
  });
  return [
    name,
    number(estimate, (x) => fixed(x, decimals)),
    number(Number.isFinite(standardError) ? standardError : null, (x) => fixed(x, decimals)),
    number(df, (x) => fixed(x, Number.isInteger(x) ? 0 : 1)),
    number(statistic, (x) => fixed(x, 2)),
    number(p, probabilityValue),
  ];
}

/** Where the scatter comes from, for the page and for export. */
export function varianceTable({ response, variance }: ModelReport): Table {
  return {
    caption: `Where the scatter of ${response} comes from`,
    columns: [
      { head: 'source', holds: 'words' },
      { head: 'SD', holds: 'numbers' },
      { head: '95 % interval', holds: 'numbers' },
      { head: 'df', holds: 'numbers' },
    ],
    rows: variance.map(varianceCells),
  };
}

function varianceCells({ name, sd, low, high, df }: VarianceRow): string[] {
  const hasInterval = low !== undefined && high !== undefined;
  const decimals = hasInterval && low !== high ? decimalsFor((high - low) / 2, 2) : null;
  return [
    name,
    decimals === null ? significantFigures(sd, 3) : fixed(sd, decimals),
    hasInterval ? interval(low, high, decimals ?? undefined) : noNumber,
    df === undefined ? noNumber : fixed(df, Number.isInteger(df) ? 0 : 1),
  ];
}
