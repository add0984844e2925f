import { type AxisWords, axisBelow, axisLeft } from './axis.ts';
import { type FigureWords, label, numberedIds, polyline, svgFigure } from './drawing.ts';
import { seriesStyle } from './palette.ts';
import { figureWidth, plainArea } from './plot.ts';
import { extent, linearScale, roomyScale } from './scale.ts';
import { spreadLabels } from './spread-labels.ts';

/** How much of the region a plan predicts at least as well as a given standard error. */
export interface RegionFractionData extends FigureWords {
  readonly y: AxisWords;
  /** Per plan: share of the region, in [0, 1] and rising, and the standard error reached there. */
  readonly plans: readonly {
    readonly name: string;
    readonly curve: readonly (readonly [number, number])[];
  }[];
}

export function regionFractionPlot(data: RegionFractionData, prefix: string): string {
  const ids = numberedIds(prefix);
  const height = 310;
  const area = plainArea({ height, right: 140 });
  const x = linearScale({ low: 0, high: 100, from: area.left, to: area.right });
  const all = data.plans.flatMap(({ curve }) => curve.map(([, error]) => error));
  const y = roomyScale({ low: 0, high: extent(all)[1], from: area.bottom, to: area.top });
  const ends = spreadLabels(
    data.plans.map(({ curve }) => y.at(curve.at(-1)?.[1] ?? 0)),
    16,
  );
  return svgFigure(
    { ...data, width: figureWidth, height, ids },
    axisLeft(y, area, data.y),
    data.plans.map(({ name, curve }, i) => {
      const { color, dash } = seriesStyle(i);
      return [
        polyline(
          curve.map(([share, error]) => [x.at(100 * share), y.at(error)]),
          { color, width: 2, dash },
        ),
        label([area.right + 8, ends[i]! + 4], name, { color, weight: 'bold' }),
      ];
    }),
    axisBelow(x, area, { label: 'share of the region with this error or less', unit: '%' }),
  );
}
