import { fixed } from '../format/number.ts';
import { element } from '../markup/markup.ts';
import { axisBelow } from './axis.ts';
import { type FigureWords, group, label, numberedIds, segment, svgFigure } from './drawing.ts';
import { paper, quiet, rule, seriesStyle } from './palette.ts';
import { figureWidth } from './plot.ts';
import { linearScale } from './scale.ts';

/** Chance to see an effect of a stated size: one bar a plan, one group an effect. */
export interface PowerBarsData extends FigureWords {
  readonly plans: readonly string[];
  /** Chance per plan, in [0, 1]; null where the plan cannot tell the effect from another. */
  readonly effects: readonly {
    readonly name: string;
    readonly power: readonly (number | null)[];
  }[];
  /** Share that counts as enough; default 0.8. */
  readonly enough?: number;
}

const barHeight = 15;

export function powerBars(data: PowerBarsData, prefix: string): string {
  const ids = numberedIds(prefix);
  const groupHeight = barHeight * data.plans.length + 16;
  const isPlain = data.plans.length === 1;
  const area = {
    left: 150,
    right: figureWidth - 130,
    top: 24,
    bottom: 24 + groupHeight * data.effects.length,
  };
  const x = linearScale({ low: 0, high: 1, from: area.left, to: area.right, ticks: 5 });
  const enough = data.enough ?? 0.8;
  return svgFigure(
    { ...data, width: figureWidth, height: area.bottom + 48, ids },
    x.ticks.map(({ value }) =>
      segment([x.at(value), area.top], [x.at(value), area.bottom], { color: rule, width: 0.75 }),
    ),
    data.effects.map(({ name, power }, i) => {
      const y = area.top + groupHeight * i + 8;
      return group(
        {},
        label([8, y + (barHeight * power.length) / 2 + 4], name),
        power.map((value, k) => {
          const top = y + barHeight * k;
          const { color } = seriesStyle(k);
          const plan = isPlain ? '' : ` ${data.plans[k]}`;
          if (value === null)
            return label([x.at(0) + 6, top + 12], `cannot tell${plan && `:${plan}`}`, {
              size: 11,
              color: quiet,
            });
          const isEnough = value >= enough;
          const shape = {
            x: x.at(0),
            y: top + 2,
            width: x.at(value) - x.at(0),
            height: barHeight - 4,
          };
          return [
            element('rect', {
              ...shape,
              fill: isEnough ? color : paper,
              stroke: color,
              'stroke-width': 1.5,
            }),
            label([x.at(value) + 6, top + 12], `${fixed(value, 2)}${plan}`, {
              size: 11,
              rim: true,
            }),
          ];
        }),
      );
    }),
    segment([x.at(enough), area.top - 4], [x.at(enough), area.bottom], {
      color: quiet,
      width: 1.25,
      dash: '5 4',
    }),
    label([x.at(enough), area.top - 10], `enough: ${fixed(enough, 2)}`, {
      anchor: 'middle',
      color: quiet,
      size: 11,
    }),
    axisBelow(x, area, { label: 'chance to see it' }),
  );
}
