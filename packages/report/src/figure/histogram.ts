import { grouped } from '../format/number.ts';
import { type Content, element } from '../markup/markup.ts';
import { type AxisWords, axisBelow, axisLeft } from './axis.ts';
import { type FigureWords, label, numberedIds, segment, svgFigure } from './drawing.ts';
import { accent, ink, paper, quiet, warn } from './palette.ts';
import { figureWidth, plainArea } from './plot.ts';
import { extent, linearScale, roomyScale, type Scale } from './scale.ts';

export interface Bin {
  readonly from: number;
  readonly to: number;
  readonly count: number;
}

/** How values spread against their limits. Bins wholly outside the limits are drawn open. */
export interface HistogramData extends FigureWords {
  readonly x: AxisWords;
  readonly y: AxisWords;
  readonly bins: readonly Bin[];
  readonly limits?: { readonly low?: number; readonly high?: number };
  readonly target?: number;
}

export function histogram(data: HistogramData, prefix: string): string {
  const ids = numberedIds(prefix);
  const height = 300;
  const area = plainArea({ height, top: 62 });
  const { low: lowest, high: highest } = data.limits ?? {};
  const marks = [lowest, highest, data.target].filter((value) => value !== undefined);
  const [low, high] = extent([...data.bins.flatMap(({ from, to }) => [from, to]), ...marks]);
  const room = (high - low) * 0.04;
  const x = linearScale({
    low: low - room,
    high: high + room,
    from: area.left,
    to: area.right,
    ticks: 8,
  });
  const y = roomyScale({
    low: 0,
    high: extent(data.bins.map(({ count }) => count))[1],
    from: area.bottom,
    to: area.top,
    ticks: 4,
  });
  const guide = (value: number | undefined, words: string, dash: string): Content =>
    value !== undefined && [
      segment([x.at(value), area.top - 4], [x.at(value), area.bottom], {
        color: ink,
        width: 1.5,
        dash,
      }),
      label([x.at(value), area.top - 10], words, { anchor: 'middle', color: quiet, size: 11 }),
    ];
  return svgFigure(
    { ...data, width: figureWidth, height, ids },
    axisLeft(y, area, data.y),
    data.bins.map((bin) => bar(bin, { x, y, low: lowest, high: highest })),
    guide(lowest, 'lower limit', '7 4'),
    guide(highest, 'upper limit', '7 4'),
    guide(data.target, 'target', '2 3'),
    axisBelow(x, area, data.x),
  );
}

function bar(
  { from, to, count }: Bin,
  {
    x,
    y,
    low = Number.NEGATIVE_INFINITY,
    high = Number.POSITIVE_INFINITY,
  }: { x: Scale; y: Scale; low: number | undefined; high: number | undefined },
): Content {
  if (count === 0) return null;
  const isOutside = to <= low || from >= high;
  const shape = {
    x: x.at(from) + 0.5,
    y: y.at(count),
    width: Math.max(0.5, x.at(to) - x.at(from) - 1),
    height: y.at(0) - y.at(count),
  };
  const style = isOutside ? { fill: paper, stroke: warn, 'stroke-width': 2 } : { fill: accent };
  const tally =
    isOutside &&
    label([(x.at(from) + x.at(to)) / 2, y.at(count) - 5], grouped(count), {
      anchor: 'middle',
      size: 11,
      rim: true,
    });
  return [element('rect', { ...shape, ...style }), tally];
}
