import { type Content, element } from '../markup/markup.ts';
import { type Area, type AxisWords, axisBelow, axisLeft } from './axis.ts';
import {
  type FigureWords,
  label,
  numberedIds,
  pathData,
  polyline,
  segment,
  svgFigure,
} from './drawing.ts';
import { accent, ink, quiet, rule, wash } from './palette.ts';
import { type FigureSize, plainArea, widthOf } from './plot.ts';
import { extent, linearScale, roomyScale } from './scale.ts';
import { type ScatterPoint, scatterMarks } from './scatter.ts';

/** Residuals over fitted values, over run order, or over a factor. */
export interface ResidualPlotData extends FigureWords, FigureSize {
  readonly x: AxisWords;
  readonly y: AxisWords;
  readonly points: readonly ScatterPoint[];
  /** `order` joins the points by a thin line, to show runs of one sign. */
  readonly over: 'values' | 'order';
  /** Guides at ± this value, such as an outlier limit. */
  readonly guide?: number;
  /** Lines across with what they mean; with one of them away from 0 the axis need not hold 0. */
  readonly lines?: readonly { readonly at: number; readonly says: string }[];
}

export function residualPlot(data: ResidualPlotData, prefix: string): string {
  const ids = numberedIds(prefix);
  const width = widthOf(data);
  const height = data.size === 'half' ? 240 : 290;
  const area = plainArea({ width, height });
  const [low, high] = extent(data.points.map(({ x }) => x));
  const room = data.over === 'order' ? 0.5 : (high - low) * 0.04;
  const x = linearScale({
    low: low - room,
    high: high + room,
    from: area.left,
    to: area.right,
    ticks: 8,
  });
  const lines = data.lines ?? [{ at: 0, says: '' }];
  const y = roomyScale({ ...heightsOf(data, lines), from: area.bottom, to: area.top });
  const guides: Content[] = [data.guide, data.guide && -data.guide].map(
    (value) =>
      value !== undefined &&
      segment([area.left, y.at(value)], [area.right, y.at(value)], { color: quiet, dash: '5 4' }),
  );
  const ordered = [...data.points].sort((a, b) => a.x - b.x);
  return svgFigure(
    { ...data, width, height, ids },
    axisLeft(y, area, data.y),
    lines.map(({ at, says }) => lineAcross(y.at(at), says, area)),
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

/** Around zero the same room either way; else from the lowest to the highest. */
function heightsOf(
  { points, guide }: ResidualPlotData,
  lines: NonNullable<ResidualPlotData['lines']>,
): { readonly low: number; readonly high: number } {
  const heights = [...points.map(({ y }) => y), ...lines.map(({ at }) => at)];
  if (lines.some(({ at }) => at !== 0)) {
    const [low, high] = extent(heights);
    return { low: low - 0.04 * (high - low), high: high + 0.04 * (high - low) };
  }
  const [, reach] = extent([...heights.map(Math.abs), guide ?? 0]);
  return { low: -reach * 1.05, high: reach * 1.05 };
}

function lineAcross(y: number, says: string, { left, right }: Area): Content {
  if (says === '') return segment([left, y], [right, y], { color: ink, width: 1.25 });
  return [
    segment([left, y], [right, y], { color: ink, width: 1.25, dash: '7 4' }),
    label([right, y - 5], says, { anchor: 'end', size: 11, rim: true }),
  ];
}

/** Ordered values over the quantiles that a normal (or half-normal) sample of that size would have. */
export interface QuantilePlotData extends FigureWords, FigureSize {
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
  const width = widthOf(data);
  const height = data.size === 'half' ? 260 : 340;
  const area = plainArea({ width, height });
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
    { ...data, width, height, ids },
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
