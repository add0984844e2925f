import { type Content, element } from '../markup/markup.ts';
import { axisBelow, axisLeft } from './axis.ts';
import { type FigureWords, label, numberedIds, segment, svgFigure } from './drawing.ts';
import { accent, paper, quiet, warn } from './palette.ts';
import { type FigureSize, widthOf } from './plot.ts';
import { extent, linearScale, roomyScale } from './scale.ts';

export interface InfluencePanel {
  readonly label: string;
  /** Value above which a run deserves a look, and where the rule comes from. */
  readonly guide: number;
  readonly guideWords: string;
  readonly values: readonly number[];
}

/** How much each run pulls the fit: one bar a run in each panel, over run order. */
export interface InfluenceBarsData extends FigureWords, FigureSize {
  readonly runOrders: readonly number[];
  readonly panels: readonly InfluencePanel[];
}

const panelHeight = 150;

export function influenceBars(data: InfluenceBarsData, prefix: string): string {
  const ids = numberedIds(prefix);
  const [first, last] = extent(data.runOrders);
  const figureWidth = widthOf(data);
  const span = { left: 64, right: figureWidth - 24 };
  const x = linearScale({
    low: first - 0.7,
    high: last + 0.7,
    from: span.left,
    to: span.right,
    ticks: 10,
  });
  const bottom = panelHeight * data.panels.length + 8;
  const width = Math.min(14, (0.7 * (span.right - span.left)) / Math.max(1, last - first + 1));
  return svgFigure(
    { ...data, width: figureWidth, height: bottom + 48, ids },
    data.panels.map((panel, k) => {
      const area = {
        ...span,
        top: panelHeight * k + 40,
        bottom: panelHeight * (k + 1) - (k + 1 < data.panels.length ? 8 : -8),
      };
      const high = Math.max(extent(panel.values)[1], panel.guide) * 1.05;
      const y = roomyScale({ low: 0, high, from: area.bottom, to: area.top, ticks: 4 });
      const guide = y.at(panel.guide);
      return [
        axisLeft(y, area, { label: panel.label }),
        panel.values.map((value, i): Content => {
          const isHigh = value > panel.guide;
          const px = x.at(data.runOrders[i] ?? i + 1);
          const shape = { x: px - width / 2, y: y.at(value), width, height: y.at(0) - y.at(value) };
          return [
            element('rect', {
              ...shape,
              fill: isHigh ? paper : accent,
              stroke: isHigh ? warn : undefined,
              'stroke-width': isHigh ? 2 : undefined,
            }),
            isHigh &&
              label([px, y.at(value) - 5], String(data.runOrders[i]), {
                anchor: 'middle',
                size: 11,
                weight: 'bold',
                rim: true,
              }),
          ];
        }),
        segment([area.left, guide], [area.right, guide], { color: quiet, dash: '5 4' }),
        label([area.right, guide - 5], panel.guideWords, {
          anchor: 'end',
          color: quiet,
          size: 11,
          rim: true,
        }),
      ];
    }),
    axisBelow(x, { ...span, top: 0, bottom: bottom }, { label: 'run order' }),
  );
}
