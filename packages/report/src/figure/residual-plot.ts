import { type Content, element } from '../markup/markup.ts';
import { type AxisWords, axisBelow, axisLeft } from './axis.ts';
import {
  type FigureWords,
  numberedIds,
  pathData,
  polyline,
  segment,
  svgFigure,
} from './drawing.ts';
import { accent, ink, quiet, rule, wash } from './palette.ts';
import { figureWidth, plainArea } from './plot.ts';
import { extent, linearScale, roomyScale } from './scale.ts';
import { type ScatterPoint, scatterMarks } from './scatter.ts';

/** Residuals over fitted values, over run order, or over a factor. */
export interface ResidualPlotData extends FigureWords {
  readonly x: AxisWords;
  readonly y: AxisWords;
  readonly points: readonly ScatterPoint[];
  /** `order` joins the points by a thin line, to show runs of one sign. */
  readonly over: 'values' | 'order';
  /** Guides at ± this value, such as an outlier limit. */
  readonly guide?: number;
}

export function residualPlot(data: ResidualPlotData, prefix: string): string {
  const ids = numberedIds(prefix);
  const height = 290;
  const area = plainArea({ height });
  const [low, high] = extent(data.points.map(({ x }) => x));
  const room = data.over === 'order' ? 0.5 : (high - low) * 0.04;
  const x = linearScale({
    low: low - room,
    high: high + room,
    from: area.left,
    to: area.right,
    ticks: 8,
  });
  const [, reach] = extent([...data.points.map(({ y }) => Math.abs(y)), data.guide ?? 0]);
  const y = roomyScale({ low: -reach * 1.05, high: reach * 1.05, from: area.bottom, to: area.top });
  const guides: Content[] = [data.guide, data.guide && -data.guide].map(
    (value) =>
      value !== undefined &&
      segment([area.left, y.at(value)], [area.right, y.at(value)], { color: quiet, dash: '5 4' }),
  );
  const ordered = [...data.points].sort((a, b) => a.x - b.x);
  return svgFigure(
    { ...data, width: figureWidth, height, ids },
    axisLeft(y, area, data.y),
    segment([area.left, y.at(0)], [area.right, y.at(0)], { color: ink, width: 1.25 }),
    guides,
    data.over === 'order' &&
      polyline(
        ordered.map((p) => [x.at(p.x), y.at(p.y)]),
        { color: rule, width: 1.25 },
      ),
    scatterMarks(data.points, (p) => [x.at(p.x), y.at(p.y)], area.right),
    axisBelow(x, area, data.x),
  );
}

/** Ordered values over the quantiles that a normal (or half-normal) sample of that size would have. */
export interface QuantilePlotData extends FigureWords {
  readonly x: AxisWords;
  readonly y: AxisWords;
  readonly points: readonly ScatterPoint[];
  /** Where the points of such a sample would lie: y = intercept + slope · x. */
  readonly line?: { readonly intercept: number; readonly slope: number };
  /** Band within which such a sample stays, rising in x. */
  readonly band?: readonly { readonly x: number; readonly low: number; readonly high: number }[];
}

export function normalQuantilePlot(data: QuantilePlotData, prefix: string): string {
  const [low, high] = extent(data.points.map(({ x }) => x));
  const room = (high - low) * 0.06;
  return quantilePlot(data, prefix, { low: low - room, high: high + room });
}

/** Sizes of effects over half-normal quantiles: those off the line are larger than noise makes them. */
export function halfNormalPlot(data: QuantilePlotData, prefix: string): string {
  const [, high] = extent(data.points.map(({ x }) => x));
  return quantilePlot(data, prefix, { low: 0, high: high * 1.12 });
}

function quantilePlot(
  data: QuantilePlotData,
  prefix: string,
  across: { readonly low: number; readonly high: number },
): string {
  const ids = numberedIds(prefix);
  const height = 340;
  const area = plainArea({ height });
  const x = linearScale({ ...across, from: area.left, to: area.right, ticks: 8 });
  const band = data.band ?? [];
  const heights = [...data.points.map((p) => p.y), ...band.flatMap((b) => [b.low, b.high])];
  const [low, high] = extent(across.low === 0 ? [0, ...heights] : heights);
  const y = roomyScale({ low, high, from: area.bottom, to: area.top });
  const outline = [
    ...band.map((b) => [x.at(b.x), y.at(b.high)] as const),
    ...[...band].reverse().map((b) => [x.at(b.x), y.at(b.low)] as const),
  ];
  const { line } = data;
  const clip = ids();
  const size = { width: area.right - area.left, height: area.bottom - area.top };
  return svgFigure(
    { ...data, width: figureWidth, height, ids },
    element(
      'defs',
      {},
      element('clipPath', { id: clip }, element('rect', { x: area.left, y: area.top, ...size })),
    ),
    element(
      'g',
      { 'clip-path': `url(#${clip})` },
      outline.length > 0 && element('path', { d: pathData(outline, true), fill: wash }),
      line &&
        segment(
          [x.at(x.low), y.at(line.intercept + line.slope * x.low)],
          [x.at(x.high), y.at(line.intercept + line.slope * x.high)],
          { color: accent, width: 1.25 },
        ),
    ),
    axisLeft(y, area, data.y),
    scatterMarks(data.points, (p) => [x.at(p.x), y.at(p.y)], area.right),
    axisBelow(x, area, data.x),
  );
}
