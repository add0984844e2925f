import { type Content, element, type Markup } from '../markup/markup.ts';
import type { Area } from './axis.ts';
import { group, label, type Place, textWidth, wrappedText } from './drawing.ts';
import { ink } from './palette.ts';

/** One entry of a figure's key: a mark drawn at a place, and its words. */
export interface KeyItem {
  readonly mark: (at: Place) => Content;
  readonly words: string;
}

const rowHeight = 26;

/** Entries set side by side and wrapped, from the top of `area` down; and the height they take. */
export function keyRows(
  items: readonly KeyItem[],
  { left, right, top }: Area,
): readonly [Markup, number] {
  const pieces: Content[] = [];
  let x = left;
  let y = top;
  for (const { mark, words } of items) {
    const lines = wrappedText(words, right - left - 40);
    const width = 36 + Math.max(...lines.map((line) => textWidth(line))) + 18;
    if (x > left && x + width > right + 18) {
      x = left;
      y += rowHeight;
    }
    pieces.push(mark([x + 14, y]));
    for (const [i, line] of lines.entries()) {
      pieces.push(label([x + 36, y + 4 + 15 * i], line));
    }
    x += width;
    y += 15 * (lines.length - 1);
  }
  return [group({}, ...pieces), items.length === 0 ? 0 : y - top + rowHeight];
}

/** Slanted hatching that says "not allowed" in print as on a screen. */
export function hatchPattern(id: string): Markup {
  return element(
    'pattern',
    { id, width: 8, height: 8, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)' },
    element('line', { x1: 0, y1: 0, x2: 0, y2: 8, stroke: ink, 'stroke-width': 1.5 }),
  );
}
