import { fixed } from '../format/number.ts';
import { nameInUnit } from '../format/unit.ts';
import { type Content, element } from '../markup/markup.ts';
import {
  type FigureWords,
  group,
  label,
  numberedIds,
  type Place,
  pathData,
  polyline,
  segment,
  svgFigure,
  wrappedText,
} from './drawing.ts';
import { accent, ink, paper, quiet, rule, wash } from './palette.ts';
import { figureWidth } from './plot.ts';
import { extent, linearScale, roomyScale, type Scale } from './scale.ts';

/** A place of the factor where the response is best, with its interval when known; natural units. */
export interface BestPlace {
  readonly at: number;
  readonly low?: number;
  readonly high?: number;
}

/** What one factor, or a pair, does to the response. */
export interface Effect {
  readonly name: string;
  /** The range the change is over, in set-point words: "3.5 → 6 rpm". */
  readonly range: string;
  /** Change from low to high with its interval, in the figure's unit; absent when it means nothing. */
  readonly change?: { readonly estimate: number; readonly low: number; readonly high: number };
  /** The fitted curve over the factor's range, in natural units; one line a pair's second setting. */
  readonly shape?: readonly (readonly (readonly [number, number])[])[];
  /** Lowest or highest point of a bowl or a hill. */
  readonly best?: BestPlace;
  /** What to make of it, in a few words. */
  readonly reading: string;
}

/** Factors in order of the size of their effect, with 95 % intervals. */
export interface EffectPlotData extends FigureWords {
  readonly change: {
    readonly label: string;
    readonly unit: string;
    /** Changes are per cent of the response: drawn as ratios, so that halving and doubling weigh alike. */
    readonly isRatio?: boolean;
  };
  readonly effects: readonly Effect[];
}

const rowHeight = 54;
const top = 46;
const column = { name: 12, axis: 152, shape: 408, reading: 524 } as const;
const shapeWidth = 92;

export function effectPlot(data: EffectPlotData, prefix: string): string {
  const ids = numberedIds(prefix);
  const bottom = top + rowHeight * data.effects.length;
  const changes = data.effects.flatMap(({ change }) => (change ? [change.low, change.high] : []));
  const across = { from: column.axis + 6, to: column.shape - 34 };
  const scale = data.change.isRatio
    ? ratioScale(changes, across)
    : roomyScale({ ...range([0, ...changes]), ...across, ticks: 4 });
  const head = (x: number, text: string): Content => label([x, 20], text, { color: quiet });
  return svgFigure(
    { ...data, width: figureWidth, height: bottom + 48, ids },
    head(column.name, 'from low to high'),
    head(column.axis, nameInUnit(data.change.label, data.change.unit)),
    head(column.shape, 'over its range'),
    head(column.reading, 'reading'),
    scale.ticks.map(({ value, label: text }) => {
      const x = scale.at(value);
      const isZero = value === 0;
      return [
        segment([x, top - 8], [x, bottom], {
          color: isZero ? ink : rule,
          width: isZero ? 1.25 : 0.75,
        }),
        label([x, bottom + 17], value > 0 ? `+${text}` : text, { anchor: 'middle' }),
      ];
    }),
    data.effects.map((effect, i) => effectRow(effect, scale, top + rowHeight * i)),
    data.effects.some(({ shape }) => (shape?.length ?? 0) > 1) &&
      label(
        [figureWidth - 12, bottom + 38],
        'pairs: solid at the low of the second, dashed at its high',
        {
          anchor: 'end',
          color: quiet,
          size: 11,
        },
      ),
  );
}

const range = (values: readonly number[]): { low: number; high: number } => {
  const [low, high] = extent(values);
  return { low, high };
};

/** Percentages that a ratio scale marks, where there is room. */
const ratioTicks = [-95, -90, -75, -50, -25, -10, 10, 25, 50, 100, 200, 400, 900, 1900, 4900];

/** A scale on which a change of p % stands at ln(1 + p/100). */
function ratioScale(
  changes: readonly number[],
  { from, to }: { readonly from: number; readonly to: number },
): Scale {
  const [least, most] = extent([-10, 10, ...changes.filter((value) => value > -100)]);
  const place = (percent: number): number => Math.log1p(Math.max(-99, percent) / 100);
  const [a, b] = [place(least), place(most)];
  const at = (value: number): number => from + ((place(value) - a) / (b - a)) * (to - from);
  const kept = [0];
  for (const tick of ratioTicks.filter((value) => value >= least && value <= most)) {
    if (kept.every((other) => Math.abs(at(other) - at(tick)) >= 36)) kept.push(tick);
  }
  const ticks = kept.map((value) => ({ value, label: fixed(value, 0) }));
  return { low: least, high: most, from, to, ticks, at };
}

function effectRow(effect: Effect, scale: Scale, y: number): Content {
  const middle = y + rowHeight / 2 - 4;
  return group(
    {},
    segment([column.name, y - 8], [figureWidth - 12, y - 8], { color: rule, width: 0.75 }),
    label([column.name, middle - 3], effect.name, { weight: 'bold' }),
    label([column.name, middle + 13], effect.range, { color: quiet, size: 11 }),
    effect.change && changeBar(effect.change, scale, middle),
    effect.shape && shapeOf(effect, middle),
    wrappedText(effect.reading, figureWidth - column.reading - 8).map((line, k, lines) =>
      label([column.reading, middle + 4 + 15 * (k - (lines.length - 1) / 2)], line),
    ),
  );
}

/** Interval bar with its estimate; the dot is open when the interval holds 0. */
function changeBar(
  { estimate, low, high }: NonNullable<Effect['change']>,
  scale: Scale,
  y: number,
): Content {
  const isOpen = low <= 0 && high >= 0;
  const end = (x: number): Content => segment([x, y - 5], [x, y + 5], { color: accent, width: 2 });
  return [
    segment([scale.at(low), y], [scale.at(high), y], { color: accent, width: 2 }),
    end(scale.at(low)),
    end(scale.at(high)),
    element('circle', {
      cx: scale.at(estimate),
      cy: y,
      r: 5.5,
      fill: isOpen ? paper : accent,
      stroke: isOpen ? accent : paper,
      'stroke-width': 2,
    }),
  ];
}

/** The curve in small, with the interval of its best place shaded under it. */
function shapeOf({ shape = [], best }: Effect, middle: number): Content {
  const all = shape.flat();
  const [left, right] = extent(all.map(([x]) => x));
  const [low, high] = extent(all.map(([, y]) => y));
  const x = linearScale({
    low: left,
    high: right,
    from: column.shape,
    to: column.shape + shapeWidth,
  });
  const y = linearScale({ low, high, from: middle + 7, to: middle - 19 });
  const lines = shape.map((line, i) =>
    polyline(
      line.map(([px, py]): Place => [x.at(px), y.at(py)]),
      { color: i === 0 ? accent : ink, width: 2, dash: i === 0 ? undefined : '5 3' },
    ),
  );
  if (!best) return lines;
  const within = (value: number): number => x.at(Math.min(right, Math.max(left, value)));
  const [from, to] = [within(best.low ?? best.at), within(best.high ?? best.at)];
  const box: Place[] = [
    [from, middle - 20],
    [to, middle - 20],
    [to, middle + 9],
    [from, middle + 9],
  ];
  const at = within(best.at);
  return [
    element('path', { d: pathData(box, true), fill: wash }),
    lines,
    segment([at, middle - 20], [at, middle + 9], { color: ink, width: 1.25, dash: '2 2' }),
    label([at, middle + 20], fixed(best.at, Math.abs(right - left) >= 20 ? 0 : 1), {
      anchor: 'middle',
      size: 11,
    }),
  ];
}
