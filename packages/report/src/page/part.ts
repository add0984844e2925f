import { type Figure, figureSvg } from '../figure/figure.ts';
import { type Content, html, Markup } from '../markup/markup.ts';
import { type Table, tableCsv, tableHtml } from '../table/table.ts';
import type { CaptionedFigure, Fact } from './input.ts';

/** Figures in the order they are set; each call gives the next prefix for ids. */
export type FigureNumbers = () => string;

/** A numbering of one page's figures. */
export function figureNumbers(): FigureNumbers {
  let last = 0;
  return () => `figure-${++last}`;
}

/** A figure with its answer above it. */
export function captionedFigure(
  { caption, note, figure }: CaptionedFigure,
  next: FigureNumbers,
): Markup {
  const id = next();
  const svg = new Markup(figureSvg(figure, id));
  const look = `plate${isMap(figure) ? ' map' : ''}${isHalf(figure) ? ' half' : ' scroll'}`;
  // Only what can be wider than a phone is scrolled, and so reached by the keyboard.
  const reach = isHalf(figure)
    ? null
    : html` tabindex="0" role="group" aria-label="${figure.title}"`;
  return html`<figure id="${id}"><figcaption>${caption}${note && html`<span class="note">${note}</span>`}</figcaption>
<div class="${look}"${reach}>${svg}</div></figure>\n`;
}

/** Drawn so that two stand side by side. */
export const isHalf = (figure: Figure): boolean => 'size' in figure && figure.size === 'half';

/** Maps keep their light colours in the dark, as their lines and letters stand on the bands. */
const isMap = ({ kind }: Figure): boolean => kind === 'contour' || kind === 'conformance-map';

/** Figures side by side where there is room. */
export function pairedFigures(
  figures: readonly CaptionedFigure[] | undefined,
  next: FigureNumbers,
): Content {
  if (!figures || figures.length === 0) return null;
  if (figures.length === 1) return captionedFigures(figures, next);
  return html`<div class="pairs">\n${captionedFigures(figures, next)}</div>\n`;
}

/** Something to open by those who want it; on paper only its first line, unless it `prints`. */
export function folded(
  summary: Content,
  content: Content,
  { prints = false }: { readonly prints?: boolean } = {},
): Markup {
  return html`<details${prints && html` class="prints"`}><summary>${summary}</summary>
<div class="inside">
${content}</div></details>\n`;
}

export const captionedFigures = (
  figures: readonly CaptionedFigure[] | undefined,
  next: FigureNumbers,
): Content => (figures ?? []).map((figure) => captionedFigure(figure, next));

/** Named facts under each other. */
export function factList(facts: readonly Fact[]): Content {
  if (facts.length === 0) return null;
  const rows = facts.map(({ name, value }) => html`<dt>${name}</dt><dd>${value}</dd>\n`);
  return html`<dl class="facts">\n${rows}</dl>\n`;
}

export function bulletList(sentences: readonly string[]): Content {
  if (sentences.length === 0) return null;
  return html`<ul>\n${sentences.map((sentence) => html`<li>${sentence}</li>\n`)}</ul>\n`;
}

/** A table, and a link that saves it as a file; the file is inside the link, so nothing is fetched. */
export function savedTable(table: Table, fileName: string): Content {
  const href = `data:text/csv;charset=utf-8,${encodeURIComponent(`\ufeff${tableCsv(table)}`)}`;
  const link = html`<a href="${href}" download="${fileName}.csv">Save this table as CSV</a>`;
  return [tableHtml(table), html`<p class="download no-print">${link}</p>\n`];
}

/** A part of the page under its heading. */
export function section(id: string, heading: string, ...content: Content[]): Markup {
  return html`<section id="${id}" aria-labelledby="${id}-heading">
<h2 id="${id}-heading">${heading}</h2>
${content}</section>\n`;
}

/** A text as a piece of a file's name or an id. */
export const slug = (text: string): string =>
  text
    .normalize('NFKD')
    .replace(/[^A-Za-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .toLowerCase() || 'table';
