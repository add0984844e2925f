import { fixed } from '../format/number.ts';
import { type Content, element } from '../markup/markup.ts';
import { type AxisWords, axisBelow, axisLeft } from './axis.ts';
import {
  type FigureWords,
  label,
  numberedIds,
  pathData,
  polyline,
  segment,
  svgFigure,
} from './drawing.ts';
import { accent, ink, quiet, warn, wash } from './palette.ts';
import { figureWidth, plainArea } from './plot.ts';
import { extent, linearScale, roomyScale } from './scale.ts';

/** A logged quantity over time with its tolerance and the stretch that was measured. */
export interface TracePlotData extends FigureWords {
  readonly x: AxisWords;
  readonly y: AxisWords;
  /** Times and values in order; a value that is not finite breaks the line. */
  readonly points: readonly (readonly [number, number])[];
  readonly target?: number;
  readonly tolerance?: { readonly low: number; readonly high: number };
  readonly measured?: { readonly from: number; readonly to: number };
}

export function tracePlot(data: TracePlotData, prefix: string): string {
  const ids = numberedIds(prefix);
  const height = 280;
  const area = plainArea({ height, top: 56, right: 60 });
  const [from, to] = extent(data.points.map(([x]) => x));
  const x = linearScale({ low: from, high: to, from: area.left, to: area.right, ticks: 8 });
  const { tolerance, measured, target } = data;
  const limits = tolerance ? [tolerance.low, tolerance.high] : [];
  const [low, high] = extent([...data.points.map(([, value]) => value), ...limits]);
  const y = roomyScale({ low, high, from: area.bottom, to: area.top });
  const across = (value: number, color: string, dash?: string): Content =>
    segment([area.left, y.at(value)], [area.right, y.at(value)], { color, width: 1.25, dash });
  const side = (value: number): Content =>
    label([area.right + 6, y.at(value) + 4], fixed(value, 2), { color: quiet });
  return svgFigure(
    { ...data, width: figureWidth, height, ids },
    measured && measuredStretch(x.at(measured.from), x.at(measured.to), area),
    axisLeft(y, area, data.y),
    limits.map((limit) => [across(limit, warn, '7 4'), side(limit)]),
    target !== undefined && [across(target, quiet, '2 3'), side(target)],
    pieces(data.points).map((piece) =>
      polyline(
        piece.map(([t, value]) => [x.at(t), y.at(value)]),
        { color: accent, width: 1.1 },
      ),
    ),
    tolerance &&
      outsideMarks(data.points, tolerance).map(([t, value]) =>
        element('circle', { cx: x.at(t), cy: y.at(value), r: 2.5, fill: warn }),
      ),
    axisBelow(x, area, data.x),
  );
}

function measuredStretch(
  from: number,
  to: number,
  { top, bottom }: { top: number; bottom: number },
): Content {
  const bracket = [
    [from, top - 4],
    [from, top - 12],
    [to, top - 12],
    [to, top - 4],
  ] as const;
  return [
    element('path', {
      d: pathData(
        [
          [from, top],
          [to, top],
          [to, bottom],
          [from, bottom],
        ],
        true,
      ),
      fill: wash,
    }),
    polyline(bracket, { color: ink }),
    label([(from + to) / 2, top - 18], 'measured', { anchor: 'middle', rim: true }),
  ];
}

function pieces(points: TracePlotData['points']): (readonly [number, number])[][] {
  const out: (readonly [number, number])[][] = [[]];
  for (const point of points) {
    if (Number.isFinite(point[1])) out.at(-1)!.push(point);
    else if (out.at(-1)!.length > 0) out.push([]);
  }
  return out.filter((piece) => piece.length > 0);
}

const outsideMarks = (
  points: TracePlotData['points'],
  { low, high }: { low: number; high: number },
): TracePlotData['points'] => points.filter(([, value]) => value < low || value > high);
