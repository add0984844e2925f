import { decimalAligned } from '../format/decimal-alignment.ts';
import { type Content, html, type Markup } from '../markup/markup.ts';
import { type CsvCell, csvText } from './csv.ts';

/**
 * A column: its head, and whether its cells are words, numbers under one decimal point, or codes that
 * are compared letter by letter.
 */
export interface Column {
  readonly head: string;
  readonly holds: 'words' | 'numbers' | 'codes';
}

/** A cell as shown, and as exported when that differs (a rounded number and its full digits). */
export interface Cell {
  readonly shown: string;
  /** A second, quieter line under it, such as the interval of a value. */
  readonly below?: string;
  readonly exported?: CsvCell;
}

/** A table with the question it answers. The first column heads its rows. */
export interface Table {
  readonly caption: string;
  readonly columns: readonly Column[];
  readonly rows: readonly (readonly (Cell | string)[])[];
}

const shownOf = (cell: Cell | string | undefined): string =>
  cell === undefined ? '' : typeof cell === 'string' ? cell : cell.shown;

/** The table as HTML: a caption, column and row heads with their scope, numbers aligned. */
export function tableHtml({ caption, columns, rows }: Table): Markup {
  const aligned = columns.map(({ holds }, j) => {
    const texts = rows.map((row) => shownOf(row[j]));
    return holds === 'numbers' ? decimalAligned(texts) : texts;
  });
  const heads = columns.map(
    ({ head, holds }) => html`<th scope="col" class="${holds}">${head}</th>`,
  );
  const body = rows.map((_, i) => {
    const cells = columns.map(({ holds }, j): Content => {
      const text = aligned[j]![i]!;
      const cell = rows[i]![j];
      const below = typeof cell === 'object' && cell.below;
      const content = below ? html`${text}<span class="below">${below}</span>` : text;
      if (j === 0) return html`<th scope="row" class="${holds}">${content}</th>`;
      return html`<td class="${holds}">${content}</td>`;
    });
    return html`<tr>${cells}</tr>\n`;
  });
  // Few columns are not pulled apart; few rows are not split between printed pages.
  const tableClass = `${columns.length <= 4 ? 'narrow ' : ''}${rows.length <= 12 ? 'short' : 'long'}`;
  const n = columns.length;
  const width = n > 14 ? 'scroll wide widest' : n > 9 ? 'scroll wide' : 'scroll';
  return html`<div class="${width}" tabindex="0" role="group" aria-label="${caption}">
<table class="${tableClass}"><caption>${caption}</caption>
<thead><tr>${heads}</tr></thead>
<tbody>
${body}</tbody></table></div>\n`;
}

/** The same table as comma-separated text, safe to open in a spreadsheet. */
export function tableCsv({ columns, rows }: Table): string {
  const body = rows.map((row) =>
    columns.map((_, j): CsvCell => {
      const cell = row[j];
      if (cell === undefined) return '';
      if (typeof cell === 'string') return plainSpaces(cell);
      return cell.exported === undefined ? plainSpaces(cell.shown) : cell.exported;
    }),
  );
  return csvText([columns.map(({ head }) => plainSpaces(head)), ...body]);
}

/** Spaces that only matter to the eye, as the plain one. */
export const plainSpaces = (text: string): string =>
  text.replace(/[\u00a0\u2007\u2008\u202f]/g, ' ');
