import { type Content, element } from '../markup/markup.ts';
import { type AxisWords, axisBelow } from './axis.ts';
import { type FigureWords, label, numberedIds, type Place, segment, svgFigure } from './drawing.ts';
import { accent, ink, paper, quiet, rule } from './palette.ts';
import { figureWidth } from './plot.ts';
import { extent, roomyScale } from './scale.ts';

export interface StripGroup {
  readonly name: string;
  readonly values: readonly number[];
  /** The group's mean with its interval. */
  readonly mean?: { readonly estimate: number; readonly low: number; readonly high: number };
}

/** Every value as a dot, group by group; equal ones are stacked, never hidden. */
export interface StripChartData extends FigureWords {
  readonly x: AxisWords;
  readonly groups: readonly StripGroup[];
  readonly limits?: readonly { readonly at: number; readonly says: string }[];
}

const rowHeight = 50;
const dot = 4;

export function stripChart(data: StripChartData, prefix: string): string {
  const ids = numberedIds(prefix);
  const area = {
    left: 130,
    right: figureWidth - 24,
    top: 28,
    bottom: 28 + rowHeight * data.groups.length,
  };
  const limits = data.limits ?? [];
  const values = data.groups.flatMap(({ values: v, mean }) =>
    mean ? [...v, mean.low, mean.high] : v,
  );
  const [low, high] = extent([...values, ...limits.map(({ at }) => at)]);
  const x = roomyScale({ low, high, from: area.left, to: area.right, ticks: 6 });
  return svgFigure(
    { ...data, width: figureWidth, height: area.bottom + 48, ids },
    data.groups.map(({ name, values: v, mean }, i) => {
      const y = area.top + rowHeight * (i + 0.5);
      return [
        segment([area.left, y], [area.right, y], { color: rule, width: 0.75 }),
        label([8, y + 4], name),
        mean && meanBar(x.at(mean.estimate), [x.at(mean.low), x.at(mean.high)], y + 13),
        stacked(v.map((value) => x.at(value))).map(([px, level]) =>
          element('circle', {
            cx: px,
            cy: y - level * 2 * dot,
            r: dot,
            fill: accent,
            stroke: paper,
          }),
        ),
      ];
    }),
    limits.map(({ at, says }) => [
      segment([x.at(at), area.top - 6], [x.at(at), area.bottom], {
        color: ink,
        width: 1.25,
        dash: '7 4',
      }),
      label([x.at(at), area.top - 12], says, {
        anchor: x.at(at) > figureWidth - 120 ? 'end' : 'middle',
        color: quiet,
      }),
    ]),
    axisBelow(x, area, data.x),
  );
}

function meanBar(at: number, [low, high]: readonly [number, number], y: number): Content {
  return [
    segment([low, y], [high, y], { color: ink, width: 2 }),
    segment([low, y - 4], [low, y + 4], { color: ink, width: 2 }),
    segment([high, y - 4], [high, y + 4], { color: ink, width: 2 }),
    segment([at, y - 6], [at, y + 6], { color: ink, width: 3 }),
  ];
}

/** Each dot with the lowest level at which it touches no earlier one. */
function stacked(positions: readonly number[]): Place[] {
  const placed: Place[] = [];
  for (const x of [...positions].sort((a, b) => a - b)) {
    let level = 0;
    while (placed.some(([px, pl]) => pl === level && Math.abs(px - x) < 2 * dot - 0.5)) level++;
    placed.push([x, level]);
  }
  return placed;
}
