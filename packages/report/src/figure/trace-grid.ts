import { fixed } from '../format/number.ts';
import { type Content, coordinate, element } from '../markup/markup.ts';
import {
  type FigureWords,
  group,
  label,
  numberedIds,
  pathData,
  segment,
  svgFigure,
} from './drawing.ts';
import { type KeyItem, keyRows } from './key.ts';
import { accent, ink, paper, quiet, rule, warn, wash } from './palette.ts';
import { figureWidth } from './plot.ts';
import { linearScale, type Scale } from './scale.ts';

/** The log of one cell, thinned to the least and the most of each piece of time. */
export interface CellTrace {
  readonly cell: number;
  /** Said after the cell's number: its SD, or how it failed. */
  readonly says: string;
  readonly isFailed?: boolean;
  /** Minutes since the log began, with the least and the most diameter about then. */
  readonly pieces: readonly { readonly at: number; readonly low: number; readonly high: number }[];
  /** The stretch that the responses were taken from, minutes. */
  readonly measured?: { readonly from: number; readonly to: number };
}

/** The logs of all cells as small multiples on the same axes. */
export interface TraceGridData extends FigureWords {
  readonly target: number;
  readonly tolerance: { readonly low: number; readonly high: number };
  readonly unit: string;
  readonly cells: readonly CellTrace[];
}

const columns = 5;
const panelHeight = 82;
const plotHeight = 50;
const left = 44;
const gap = 10;

/** Each cell's diameter over time between the limits of the product, the measured stretch shaded. */
export function traceGrid(data: TraceGridData, prefix: string): string {
  const ids = numberedIds(prefix);
  const rows = Math.ceil(data.cells.length / columns);
  const bottom = panelHeight * rows + 8;
  const width = (figureWidth - left - 8) / columns - gap;
  const { low, high } = data.tolerance;
  const room = 0.35 * (high - low);
  const y = linearScale({ low: low - room, high: high + room, from: plotHeight, to: 0 });
  const last = Math.max(1e-9, ...data.cells.flatMap(({ pieces }) => pieces.at(-1)?.at ?? 0));
  const x = linearScale({ low: 0, high: last, from: 0, to: width, ticks: 3 });
  const clip = ids();
  const [key, keyHeight] = keyRows(keyItems, {
    left: 8,
    right: figureWidth - 8,
    top: bottom + 30,
    bottom,
  });
  return svgFigure(
    { ...data, width: figureWidth, height: bottom + 26 + keyHeight, ids },
    element(
      'defs',
      {},
      element('clipPath', { id: clip }, element('rect', { x: 0, y: 0, width, height: plotHeight })),
    ),
    data.cells.map((cell, i) => {
      const [column, row] = [i % columns, Math.floor(i / columns)];
      const isLast = row === rows - 1 || i + columns >= data.cells.length;
      return group(
        {
          transform: `translate(${coordinate(left + column * (width + gap))} ${panelHeight * row + 22})`,
        },
        cellPanel(cell, { x, y, data, width, clip }),
        column === 0 && limitLabels(data, y),
        isLast && timeLabels(x, width),
      );
    }),
    key,
  );
}

interface PanelFrame {
  readonly x: Scale;
  readonly y: Scale;
  readonly data: TraceGridData;
  readonly width: number;
  readonly clip: string;
}

function cellPanel(
  { cell, says, isFailed, pieces, measured }: CellTrace,
  { x, y, data: { target, tolerance }, width, clip }: PanelFrame,
): Content {
  const across = (value: number, color: string, dash: string): Content =>
    segment([0, y.at(value)], [width, y.at(value)], { color, width: 0.9, dash });
  const outline = [
    ...pieces.map(({ at, high }) => [x.at(at), y.at(high)] as const),
    ...[...pieces].reverse().map(({ at, low }) => [x.at(at), y.at(low)] as const),
  ];
  return [
    label([0, -7], `${cell}`, { weight: 'bold', size: 11 }),
    label([width, -7], says, {
      anchor: 'end',
      size: 11,
      color: isFailed ? warn : quiet,
    }),
    element('rect', { x: 0, y: 0, width, height: plotHeight, fill: 'none', stroke: rule }),
    measured &&
      element('rect', {
        x: x.at(measured.from),
        y: 0.5,
        width: Math.max(0, x.at(measured.to) - x.at(measured.from)),
        height: plotHeight - 1,
        fill: wash,
      }),
    across(tolerance.low, warn, '5 3'),
    across(tolerance.high, warn, '5 3'),
    across(target, quiet, '1 3'),
    element(
      'g',
      { 'clip-path': `url(#${clip})` },
      outline.length > 1 &&
        element('path', {
          d: pathData(outline, true),
          fill: accent,
          stroke: accent,
          'stroke-width': 0.75,
          'stroke-linejoin': 'round',
        }),
    ),
  ];
}

const limitLabels = ({ tolerance, unit }: TraceGridData, y: Scale): Content => [
  ...[tolerance.high, tolerance.low].map((value) =>
    label([-6, y.at(value) + 3.5], fixed(value, 2), { anchor: 'end', size: 10, color: quiet }),
  ),
  label([-6, -7], unit, { anchor: 'end', size: 10, color: quiet }),
];

const timeLabels = (x: Scale, width: number): Content =>
  x.ticks.map(({ value, label: text }, i, all) => {
    const isEnd = i === all.length - 1;
    const place = x.at(value);
    return label([place, plotHeight + 12], isEnd ? `${text}\u202fmin` : text, {
      anchor: i === 0 ? 'start' : place > width - 18 ? 'end' : 'middle',
      size: 10,
      color: quiet,
    });
  });

const keyItems: readonly KeyItem[] = [
  {
    mark: ([x, y]) => element('rect', { x: x - 13, y: y - 4, width: 26, height: 8, fill: accent }),
    words: 'diameter',
  },
  {
    mark: ([x, y]) => [
      element('rect', { x: x - 13, y: y - 8, width: 26, height: 16, fill: wash, stroke: paper }),
      segment([x - 13, y + 8], [x + 13, y + 8], { color: ink, width: 0.5 }),
    ],
    words: 'measured stretch',
  },
  {
    mark: ([x, y]) => segment([x - 13, y], [x + 13, y], { color: warn, width: 1.25, dash: '5 3' }),
    words: 'limits of the product',
  },
];
