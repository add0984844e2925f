import { nameInUnit } from '../format/unit.ts';
import { type Content, element } from '../markup/markup.ts';
import { type Area, axisBelow, axisLeft } from './axis.ts';
import { type FigureWords, label, numberedIds, type Place, segment, svgFigure } from './drawing.ts';
import { type KeyItem, keyRows } from './key.ts';
import { targetMark } from './mark.ts';
import { accent, ink, paper, warn } from './palette.ts';
import { figureWidth } from './plot.ts';
import { extent, linearScale, type Scale } from './scale.ts';

/** One thing wanted, and the limit that a product must keep in it. */
export interface TradedResponse {
  readonly label: string;
  readonly unit?: string;
  readonly aim: 'smallest' | 'largest';
  readonly atMost?: number;
  readonly atLeast?: number;
}

/** Settings that nothing betters in every response, numbered as in the table beside them. */
export interface TradeOffPlotData extends FigureWords {
  /** The last one stands upright, each other one across a panel of its own. */
  readonly responses: readonly TradedResponse[];
  readonly points: readonly {
    /** In the order of the responses. */
    readonly values: readonly number[];
    /** Whether the chance asked is kept there; null when it cannot be judged. */
    readonly isSure: boolean | null;
  }[];
  readonly recommended?: readonly number[];
  /** What a filled mark means: "chance of conforming 0.9 or more". */
  readonly sureSays: string;
}

const radius = 9;
const plotHeight = 250;
const gap = 34;

/** What giving way in one response buys in another: one panel a pair, the upright response shared. */
export function tradeOffPlot(data: TradeOffPlotData, prefix: string): string {
  const ids = numberedIds(prefix);
  const upright = data.responses.length - 1;
  const panels = Math.max(1, upright);
  const left = 60;
  const width = (figureWidth - left - 24 - gap * (panels - 1)) / panels;
  const areas = Array.from({ length: panels }, (_, k): Area => {
    const from = left + k * (width + gap);
    return { left: from, right: from + width, top: 44, bottom: 44 + plotHeight };
  });
  const [first] = areas;
  const y = scaleOf(data, upright, { from: first!.bottom, to: first!.top });
  const [key, keyHeight] = keyRows(keyItems(data), {
    ...first!,
    right: figureWidth - 24,
    top: first!.bottom + 66,
  });
  return svgFigure(
    { ...data, width: figureWidth, height: first!.bottom + 62 + keyHeight, ids },
    areas.map((area, k) => panel(data, k, area, y)),
    key,
  );
}

function panel(data: TradeOffPlotData, k: number, area: Area, y: Scale): Content {
  const upright = data.responses.length - 1;
  const x = scaleOf(data, k, { from: area.left, to: area.right });
  const words = (response: TradedResponse) => ({
    label: `${nameInUnit(response.label, response.unit)}, ${response.aim === 'smallest' ? 'less' : 'more'} is better`,
  });
  const at = (values: readonly number[]): Place => [x.at(values[k]!), y.at(values[upright]!)];
  const left = axisLeft(y, area, k === 0 ? words(data.responses[upright]!) : { label: '' });
  return [
    left,
    axisBelow(x, area, words(data.responses[k]!)),
    limitLines(data.responses[k]!, x, ([a, b]) => [
      [a, area.top],
      [b, area.bottom],
    ]),
    limitLines(data.responses[upright]!, y, ([a, b]) => [
      [area.left, a],
      [area.right, b],
    ]),
    numberedMarks(data, at, area),
    data.recommended && targetMark(at(data.recommended)),
  ];
}

/** Dashed where the limit of a response stands, when it stands in the picture. */
function limitLines(
  { atMost, atLeast }: TradedResponse,
  scale: Scale,
  line: (at: readonly [number, number]) => [Place, Place],
): Content {
  return [atMost, atLeast].map((limit) => {
    if (limit === undefined || limit < scale.low || limit > scale.high) return null;
    const [from, to] = line([scale.at(limit), scale.at(limit)]);
    return segment(from, to, { color: warn, width: 1.5, dash: '7 4' });
  });
}

function scaleOf(
  { responses, points, recommended }: TradeOffPlotData,
  k: number,
  ends: { readonly from: number; readonly to: number },
): Scale {
  const { atMost, atLeast } = responses[k]!;
  const values = [
    ...points.map((point) => point.values[k]!),
    ...(recommended ? [recommended[k]!] : []),
  ];
  const [low, high] = extent(values);
  const span = high - low || Math.abs(high) || 1;
  // A limit close by is shown; one far off would squeeze the points together.
  const near = [atMost, atLeast].filter(
    (limit): limit is number =>
      limit !== undefined && limit > low - 0.35 * span && limit < high + 0.35 * span,
  );
  const [least, most] = extent([low, high, ...near]);
  return linearScale({ low: least - 0.09 * span, high: most + 0.09 * span, ...ends, ticks: 4 });
}

/** Numbered discs, those that would cover each other moved apart and tied to their place. */
function numberedMarks(
  data: TradeOffPlotData,
  at: (values: readonly number[]) => Place,
  area: Area,
) {
  const places = data.points.map(({ values }) => at(values));
  const apart = movedApart(places, area, data.recommended && at(data.recommended));
  return data.points.map(({ isSure }, i): Content => {
    const [from, to] = [places[i]!, apart[i]!];
    const isMoved = Math.hypot(from[0] - to[0], from[1] - to[1]) > 3;
    const fill = isSure === false ? paper : accent;
    return [
      isMoved && segment(from, to, { color: ink, width: 0.75 }),
      isMoved && element('circle', { cx: from[0], cy: from[1], r: 2, fill: ink }),
      element('circle', {
        cx: to[0],
        cy: to[1],
        r: radius,
        fill,
        stroke: accent,
        'stroke-width': 1.5,
      }),
      label([to[0], to[1] + 3.75], String(i + 1), {
        anchor: 'middle',
        size: 10.5,
        weight: 'bold',
        color: isSure === false ? ink : paper,
      }),
    ];
  });
}

/** Places pushed apart until discs on them no longer overlap, kept inside the area. */
function movedApart(
  places: readonly Place[],
  { left, right, top, bottom }: Area,
  fixed: Place | undefined,
): Place[] {
  const moved = places.map(([x, y]): [number, number] => [x, y]);
  const least = 2 * radius + 2;
  for (let round = 0; round < 80; round++) {
    let isCalm = true;
    for (let i = 0; i < moved.length; i++)
      for (let j = i + 1; j < moved.length; j++) {
        const [a, b] = [moved[i]!, moved[j]!];
        const distance = Math.hypot(b[0] - a[0], b[1] - a[1]);
        if (distance >= least) continue;
        isCalm = false;
        // Two on one spot part along a direction of their own.
        const angle = distance > 1e-6 ? Math.atan2(b[1] - a[1], b[0] - a[0]) : i + 2 * j;
        const push = (least - distance) / 2 + 0.1;
        for (const [disc, sign] of [
          [a, -1],
          [b, 1],
        ] as const) {
          disc[0] = Math.min(right, Math.max(left, disc[0] + sign * push * Math.cos(angle)));
          disc[1] = Math.min(
            bottom - radius,
            Math.max(top, disc[1] + sign * push * Math.sin(angle)),
          );
        }
      }
    for (const disc of fixed ? moved : []) {
      const [dx, dy] = [disc[0] - fixed![0], disc[1] - fixed![1]];
      const distance = Math.hypot(dx, dy);
      if (distance >= least + 4) continue;
      isCalm = false;
      const angle = distance > 1e-6 ? Math.atan2(dy, dx) : -Math.PI / 4;
      disc[0] = Math.min(right, Math.max(left, fixed![0] + (least + 4.1) * Math.cos(angle)));
      disc[1] = Math.min(
        bottom - radius,
        Math.max(top, fixed![1] + (least + 4.1) * Math.sin(angle)),
      );
    }
    if (isCalm) break;
  }
  return moved;
}

function keyItems({ points, recommended, responses, sureSays }: TradeOffPlotData): KeyItem[] {
  const disc =
    (fill: string) =>
    ([cx, cy]: Place): Content =>
      element('circle', { cx, cy, r: 7, fill, stroke: accent, 'stroke-width': 1.5 });
  const hasLimit = responses.some(
    ({ atMost, atLeast }) => atMost !== undefined || atLeast !== undefined,
  );
  return [
    ...(points.some(({ isSure }) => isSure === true)
      ? [{ mark: disc(accent), words: sureSays }]
      : []),
    ...(points.some(({ isSure }) => isSure === false)
      ? [{ mark: disc(paper), words: 'less' }]
      : []),
    ...(recommended ? [{ mark: targetMark, words: 'recommended' }] : []),
    ...(hasLimit
      ? [
          {
            mark: ([x, y]: Place): Content =>
              segment([x - 13, y], [x + 13, y], { color: warn, width: 1.5, dash: '7 4' }),
            words: 'limit of the product',
          },
        ]
      : []),
  ];
}
