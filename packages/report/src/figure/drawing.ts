import { type Content, coordinate, element, type Markup } from '../markup/markup.ts';
import { ink, paper } from './palette.ts';

export type Place = readonly [x: number, y: number];

/** What every figure says in words. */
export interface FigureWords {
  /** Name of the figure, read first by a screen reader. */
  readonly title: string;
  /** What is to be seen in it, for those who cannot see it. */
  readonly description: string;
}

/** Ids numbered by their order within one figure. */
export type Ids = () => string;

/** A numbering that starts anew for each figure; `prefix` keeps figures of one page apart. */
export function numberedIds(prefix: string): Ids {
  const safe = prefix.replace(/[^A-Za-z0-9_-]/g, '-');
  let last = 0;
  return () => `${safe}-${++last}`;
}

export interface Canvas extends FigureWords {
  readonly width: number;
  readonly height: number;
  readonly ids: Ids;
}

/** The figure as one SVG image with a title and a description. */
export function svgFigure(
  { title, description, width, height, ids }: Canvas,
  ...content: Content[]
): string {
  const [titleId, descriptionId] = [ids(), ids()];
  return element(
    'svg',
    {
      xmlns: 'http://www.w3.org/2000/svg',
      viewBox: `0 0 ${coordinate(width)} ${coordinate(height)}`,
      width,
      height,
      role: 'img',
      'aria-labelledby': titleId,
      'aria-describedby': descriptionId,
      'font-family': 'system-ui, "Segoe UI", "Helvetica Neue", Arial, sans-serif',
      'font-size': 12,
      fill: ink,
    },
    '\n',
    element('title', { id: titleId }, title),
    '\n',
    element('desc', { id: descriptionId }, description),
    '\n',
    element('rect', { width, height, fill: paper }),
    '\n',
    content,
    '\n',
  ).text;
}

/** A group on a line of its own, which keeps differences between snapshots readable. */
export const group = (
  attributes: Record<string, string | number | undefined>,
  ...content: Content[]
): Markup =>
  element('g', attributes, '\n', ...content.flatMap((piece) => [piece, '\n'] as Content[]));

export interface Stroke {
  readonly color: string;
  readonly width?: number;
  readonly dash?: string | undefined;
}

/** Path data through places, closed on request; a tenth of a px is finer than any eye or printer. */
export function pathData(places: readonly Place[], closed = false): string {
  let d = '';
  for (const [i, [x, y]] of places.entries()) {
    d += `${i === 0 ? 'M' : 'L'}${tenth(x)},${tenth(y)}`;
  }
  return closed && d !== '' ? `${d}Z` : d;
}

const tenth = (value: number): string => String(Math.round(value * 10) / 10 + 0);

/** An open line through places. */
export function polyline(places: readonly Place[], { color, width = 1.5, dash }: Stroke): Markup {
  return element('path', {
    d: pathData(places),
    fill: 'none',
    stroke: color,
    'stroke-width': width,
    'stroke-dasharray': dash,
    'stroke-linejoin': 'round',
  });
}

/** A straight line. */
export function segment(
  [x1, y1]: Place,
  [x2, y2]: Place,
  { color, width = 1, dash }: Stroke,
): Markup {
  return element('line', {
    x1,
    y1,
    x2,
    y2,
    stroke: color,
    'stroke-width': width,
    'stroke-dasharray': dash,
  });
}

export interface TextStyle {
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly color?: string;
  readonly size?: number;
  readonly weight?: 'bold';
  /** Draw a rim of paper colour round the letters, for text over lines. */
  readonly rim?: boolean;
  readonly transform?: string;
}

/** Text with its baseline at a place, in tabular figures. */
export function label([x, y]: Place, text: string, style: TextStyle = {}): Markup {
  return element(
    'text',
    {
      x,
      y,
      'text-anchor': style.anchor === 'start' ? undefined : style.anchor,
      fill: style.color,
      'font-size': style.size,
      'font-weight': style.weight,
      style: 'font-variant-numeric:tabular-nums',
      stroke: style.rim ? paper : undefined,
      'stroke-width': style.rim ? 3 : undefined,
      'stroke-linejoin': style.rim ? 'round' : undefined,
      'paint-order': style.rim ? 'stroke' : undefined,
      transform: style.transform,
    },
    text,
  );
}

/** About how wide a text is, in px: enough to place labels without measuring letters. */
export function textWidth(text: string, size = 12): number {
  let units = 0;
  for (const character of text) units += /[ilj.,:;'|!\u202f\u2008 ]/.test(character) ? 0.31 : 0.57;
  return units * size;
}

/** A text broken at spaces into lines of at most `width` px. */
export function wrappedText(text: string, width: number, size = 12): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line !== '' && textWidth(longer, size) > width) {
      lines.push(line);
      line = word;
    } else line = longer;
  }
  if (line !== '') lines.push(line);
  return lines;
}
