import { nameInUnit } from '../format/unit.ts';
import { type Content, element } from '../markup/markup.ts';
import { type FigureWords, group, label, numberedIds, segment, svgFigure } from './drawing.ts';
import { keyRows } from './key.ts';
import { accent, ink, paper, quiet, rule, wash } from './palette.ts';
import { figureWidth } from './plot.ts';

/** A factor's hand in one response, as shares of 1. */
export interface FactorShare {
  /** What it explains by itself. */
  readonly alone: number;
  /** What it has any part in, alone or with others. */
  readonly total: number;
  /** Interval of `total`; absent when nothing judged it. */
  readonly low?: number;
  readonly high?: number;
}

/** Which factors move which response, side by side. */
export interface ShareBarsData extends FigureWords {
  readonly factors: readonly string[];
  readonly responses: readonly {
    readonly name: string;
    /** In the order of `factors`; null where the model does without. */
    readonly shares: readonly (FactorShare | null)[];
  }[];
}

const rowHeight = 34;
const nameWidth = 104;
const numberWidth = 44;
const top = 52;

/** One column a response, one row a factor: the whole share as a frame, what it does alone filled in. */
export function shareBars(data: ShareBarsData, prefix: string): string {
  const ids = numberedIds(prefix);
  const columns = Math.max(1, data.responses.length);
  const width = (figureWidth - nameWidth - 12) / columns;
  const bottom = top + rowHeight * data.factors.length;
  const [key, keyHeight] = keyRows(keyItems(data), {
    left: 8,
    right: figureWidth - 8,
    top: bottom + 60,
    bottom: bottom + 60,
  });
  return svgFigure(
    { ...data, width: figureWidth, height: bottom + 54 + keyHeight, ids },
    data.factors.map((name, i) =>
      group(
        {},
        segment([8, top + rowHeight * i], [figureWidth - 8, top + rowHeight * i], {
          color: rule,
          width: 0.75,
        }),
        label([8, middleOf(i) + 4], name, { weight: 'bold' }),
      ),
    ),
    data.responses.map((response, k) =>
      responseColumn(response, { left: nameWidth + width * k, width: width - 14, bottom }),
    ),
    key,
  );
}

const middleOf = (row: number): number => top + rowHeight * (row + 0.5);

function responseColumn(
  { name, shares }: ShareBarsData['responses'][number],
  {
    left,
    width,
    bottom,
  }: { readonly left: number; readonly width: number; readonly bottom: number },
): Content {
  const room = width - numberWidth;
  const at = (share: number): number => left + Math.min(1, Math.max(0, share)) * room;
  return group(
    {},
    label([left, top - 28], nameInUnit(name, undefined), { weight: 'bold' }),
    [0, 0.5, 1].map((share) => [
      segment([at(share), top - 6], [at(share), bottom], { color: rule, width: 0.75 }),
      label([at(share), bottom + 17], `${100 * share}`, { anchor: 'middle', color: quiet }),
    ]),
    label([at(0.5), bottom + 33], '% of what it does', {
      anchor: 'middle',
      color: quiet,
      size: 11,
    }),
    segment([at(0), top - 6], [at(0), bottom], { color: ink }),
    shares.map((share, i) => shareRow(share, middleOf(i), { at, end: left + width })),
  );
}

function shareRow(
  share: FactorShare | null,
  y: number,
  { at, end }: { readonly at: (share: number) => number; readonly end: number },
): Content {
  if (!share)
    return label([at(0) + 6, y + 4], 'not in the model', { color: quiet, size: 11, rim: true });
  const { alone, total, low, high } = share;
  const percent = Math.round(100 * total);
  return [
    bar(at(0), at(total), y, 18, { fill: wash, stroke: accent, 'stroke-width': 1.25 }),
    bar(at(0), at(Math.min(alone, total)), y - 3.5, 9, { fill: accent }),
    low !== undefined && high !== undefined && whisker(at(low), at(high), y + 5),
    label([end, y + 4], percent < 1 ? '< 1' : String(percent), { anchor: 'end' }),
  ];
}

const bar = (
  left: number,
  right: number,
  y: number,
  height: number,
  style: Record<string, string | number>,
): Content =>
  right - left > 0.3 &&
  element('rect', { x: left, y: y - height / 2, width: right - left, height, ...style });

function whisker(left: number, right: number, y: number): Content {
  const line = (color: string, width: number): Content => [
    segment([left, y], [right, y], { color, width }),
    segment([left, y - 3], [left, y + 3], { color, width }),
    segment([right, y - 3], [right, y + 3], { color, width }),
  ];
  return [line(paper, 3.5), line(ink, 1.25)];
}

function keyItems({ responses }: ShareBarsData) {
  const shares = responses.flatMap((response) => response.shares.flatMap((share) => share ?? []));
  const box =
    (height: number, style: Record<string, string | number>) =>
    ([x, y]: readonly [number, number]): Content =>
      bar(x - 13, x + 13, y, height, style);
  return [
    { mark: box(8, { fill: accent }), words: 'alone' },
    {
      mark: box(16, { fill: wash, stroke: accent, 'stroke-width': 1.25 }),
      words: 'with others as well',
    },
    ...(shares.some(({ low }) => low !== undefined)
      ? [
          {
            mark: ([x, y]: readonly [number, number]): Content => whisker(x - 13, x + 13, y),
            words: '95\u202f% interval of the whole share',
          },
        ]
      : []),
  ];
}
