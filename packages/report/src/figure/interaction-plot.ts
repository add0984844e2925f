import { type Content, element } from '../markup/markup.ts';
import { type AxisWords, axisBelow, axisLeft } from './axis.ts';
import {
  type FigureWords,
  label,
  numberedIds,
  type Place,
  pathData,
  polyline,
  segment,
  svgFigure,
} from './drawing.ts';
import { paper, seriesStyle } from './palette.ts';
import { type FigureSize, plainArea, widthOf } from './plot.ts';
import { extent, linearScale, roomyScale, type Scale } from './scale.ts';
import { spreadLabels } from './spread-labels.ts';

/** A fitted value with its interval. */
export interface FittedPoint {
  readonly x: number;
  readonly estimate: number;
  readonly low: number;
  readonly high: number;
}

/** One line a setting of the second factor; a single series is a main effect. */
export interface InteractionPlotData extends FigureWords, FigureSize {
  readonly x: AxisWords;
  readonly y: AxisWords;
  readonly series: readonly { readonly name: string; readonly points: readonly FittedPoint[] }[];
  /** Names at x = 0, 1, 2 … when the factor across has named levels. */
  readonly levels?: readonly string[];
}

/** Fitted lines with intervals; far from parallel means that the factors act together. */
export function interactionPlot(data: InteractionPlotData, prefix: string): string {
  const ids = numberedIds(prefix);
  const width = widthOf(data);
  const height = data.size === 'half' ? 270 : 320;
  const area = plainArea({ width, height, right: data.size === 'half' ? 108 : 150 });
  const all = data.series.flatMap(({ points }) => points);
  const [low, high] = extent(all.map((p) => p.x));
  const room = data.levels ? 0.3 : (high - low) * 0.04;
  const across = { low: low - room, high: high + room, from: area.left, to: area.right };
  const x = data.levels ? namedScale(data.levels, across) : linearScale(across);
  const [bottom, top] = extent(all.flatMap((p) => [p.low, p.high]));
  const y = roomyScale({ low: bottom, high: top, from: area.bottom, to: area.top });
  return svgFigure(
    { ...data, width, height, ids },
    axisLeft(y, area, data.y),
    data.series.map(({ points }, i) => seriesLine(points, { x, y, i, hasLevels: !!data.levels })),
    seriesNames(data, y, area.right),
    axisBelow(x, area, data.x),
  );
}

function namedScale(
  levels: readonly string[],
  across: { low: number; high: number; from: number; to: number },
): Scale {
  const ticks = levels.map((name, value) => ({ value, label: name }));
  return { ...linearScale(across), ticks };
}

function seriesLine(
  points: readonly FittedPoint[],
  { x, y, i, hasLevels }: { x: Scale; y: Scale; i: number; hasLevels: boolean },
): Content {
  const { color, dash } = seriesStyle(i);
  const at = (p: FittedPoint, value: number): Place => [x.at(p.x), y.at(value)];
  const band = [
    ...points.map((p) => at(p, p.high)),
    ...[...points].reverse().map((p) => at(p, p.low)),
  ];
  const bars = points.map((p) => {
    const [px] = at(p, p.estimate);
    const shift = (i - 0.5) * 6;
    return [
      segment([px + shift, y.at(p.low)], [px + shift, y.at(p.high)], { color, width: 1.5 }),
      element('circle', { cx: px + shift, cy: y.at(p.estimate), r: 4, fill: color, stroke: paper }),
    ];
  });
  const line = polyline(
    points.map((p) => at(p, p.estimate)),
    { color, width: 2.25, dash },
  );
  const isSparse = hasLevels || points.length < 6;
  const fill = element('path', { d: pathData(band, true), fill: color, 'fill-opacity': 0.12 });
  return isSparse ? [line, bars] : [fill, line];
}

function seriesNames({ series }: InteractionPlotData, y: Scale, right: number): Content[] {
  const ends = series.map(({ points }) => y.at(points.at(-1)?.estimate ?? y.low));
  const heights = spreadLabels(ends, 16);
  return series.map(({ name }, i) =>
    label([right + 10, heights[i]! + 4], name, { color: seriesStyle(i).color, weight: 'bold' }),
  );
}
