import { nameInUnit } from '../format/unit.ts';
import { type Content, element } from '../markup/markup.ts';
import { type Area, axisBelow, axisLeft } from './axis.ts';
import { areaRect, bandFills, type Frame, levelLabels, levelLines } from './contour-level.ts';
import {
  type FigureWords,
  group,
  type Ids,
  label,
  numberedIds,
  type Place,
  pathData,
  polyline,
  svgFigure,
  textWidth,
  wrappedText,
} from './drawing.ts';
import { type Field, type GridToPixel, isoLines, ringsAbove } from './iso-line.ts';
import { hatchPattern, type KeyItem, keyRows } from './key.ts';
import { failureOutcomes, type Outcome, outcomeWords, runMark, targetMark } from './mark.ts';
import { ink, paper } from './palette.ts';
import { type FigureSize, widthOf } from './plot.ts';
import { extent, linearScale, niceTicks } from './scale.ts';

export interface ContourAxis {
  readonly label: string;
  readonly unit?: string;
  readonly low: number;
  readonly high: number;
}

/** A run laid over the surface, in natural units of both axes. */
export interface ContourRun {
  readonly x: number;
  readonly y: number;
  readonly outcome: Outcome;
}

/** A line drawn where `margin`, on the same grid as the values, is 0; at least 0 is the good side. */
export interface Border {
  readonly margin: readonly number[];
  readonly says: string;
}

/** A fitted surface over two factors, the others held. */
export interface ContourData extends FigureWords, FigureSize {
  readonly x: ContourAxis;
  readonly y: ContourAxis;
  readonly value: { readonly label: string; readonly unit?: string };
  readonly field: Field;
  /** Values at which lines are drawn, rising; round values when absent. */
  readonly levels?: readonly number[];
  /** How a level is written; three significant figures at most when absent. */
  readonly levelLabels?: readonly string[];
  readonly runs?: readonly ContourRun[];
  readonly recommended?: { readonly x: number; readonly y: number };
  /** What the ringed point is; "recommended" when absent. */
  readonly recommendedSays?: string;
  /** Edge of the window. */
  readonly window?: Border;
  /** Region limit: what is below 0 may not be run and is hatched. */
  readonly limit?: Border;
  /** Where the other factors are held, in words. */
  readonly heldAt?: string;
}

/** Filled bands and labelled lines of a surface, with the runs that support it drawn in. */
export function contourFigure(data: ContourData, prefix: string): string {
  const ids = numberedIds(prefix);
  const area = contourArea(data);
  const frame = frameOf(data, area, ids);
  const hatch = ids();
  const levels =
    data.levels ?? niceTicks(...extent(data.field.values), 9).map(({ value }) => value);
  const [key, keyHeight] = keyRows(keyItems(data, hatch), { ...area, top: area.bottom + 64 });
  return svgFigure(
    { ...data, width: widthOf(data), height: area.bottom + 64 + keyHeight, ids },
    element(
      'defs',
      {},
      element('clipPath', { id: frame.clip }, areaRect(area)),
      hatchPattern(hatch),
    ),
    '\n',
    group(
      { 'clip-path': `url(#${frame.clip})` },
      ...bandFills(data.field, levels, frame),
      limitFill(data, frame, hatch),
      ...levelLines(data.field, levels, frame),
      windowLine(data, frame),
    ),
    areaRect(area, { fill: 'none', stroke: ink, 'stroke-width': 1 }),
    ...levelLabels(
      data.field,
      { levels, labels: data.levelLabels },
      { frame, marks: marksOf(data, frame) },
    ),
    data.runs && runMarks(data.runs, frame),
    data.recommended &&
      targetMark([frame.x.at(data.recommended.x), frame.y.at(data.recommended.y)]),
    axisBelow(frame.x, area, data.x, { clearance: 6 }),
    axisLeft(frame.y, area, data.y, { lines: false, clearance: 6 }),
    headLine(data, area),
    key,
  );
}

/** The head holds where the others are held, the value's name and the name of the upright axis. */
function contourArea(data: ContourData): Area {
  const width = widthOf(data);
  if (data.size !== 'half')
    return { left: 64, right: width - 24, top: data.heldAt ? 58 : 40, bottom: 430 };
  const top = 28 + lineHeight * (heldLines(data).length + (isNameAbove(data) ? 1 : 0));
  return { left: 58, right: width - 18, top, bottom: top + 250 };
}

const lineHeight = 16;

const heldLines = (data: ContourData): string[] =>
  data.heldAt ? wrappedText(`held: ${data.heldAt}`, widthOf(data) - 16) : [];

const valueName = ({ value }: ContourData): string =>
  `lines: ${nameInUnit(value.label, value.unit)}`;

/** The value's name stands a line higher when the name of the upright axis leaves it no room. */
const isNameAbove = (data: ContourData): boolean =>
  textWidth(valueName(data)) * 1.08 + textWidth(nameInUnit(data.y.label, data.y.unit)) >
  widthOf(data) - 50;

function frameOf({ x, y, field }: ContourData, area: Area, ids: Ids): Frame {
  const xScale = linearScale({
    low: x.low,
    high: x.high,
    from: area.left,
    to: area.right,
    ticks: 6,
  });
  const yScale = linearScale({
    low: y.low,
    high: y.high,
    from: area.bottom,
    to: area.top,
    ticks: 6,
  });
  const toPixel: GridToPixel = (column, row) => [
    area.left + (column / (field.columns - 1)) * (area.right - area.left),
    area.bottom - (row / (field.rows - 1)) * (area.bottom - area.top),
  ];
  return { area, x: xScale, y: yScale, toPixel, clip: ids() };
}

function limitFill({ limit, field }: ContourData, { toPixel }: Frame, hatch: string): Content {
  if (!limit) return null;
  const outside = { ...field, values: limit.margin.map((margin) => -margin) };
  const rings = ringsAbove(outside, Number.MIN_VALUE, toPixel);
  const d = rings.map((ring) => pathData(ring, true)).join('');
  if (d === '') return null;
  const shape = { d, 'fill-rule': 'evenodd' };
  return [
    element('path', { ...shape, fill: paper, 'fill-opacity': 0.55 }),
    element('path', { ...shape, fill: `url(#${hatch})`, stroke: ink, 'stroke-width': 1.25 }),
  ];
}

function windowLine({ window, field }: ContourData, { toPixel }: Frame): Content {
  if (!window) return null;
  const lines = isoLines({ ...field, values: window.margin }, 0, toPixel);
  return lines.flatMap((line) => [
    polyline(line, { color: paper, width: 5 }),
    polyline(line, { color: ink, width: 2.5, dash: '8 4' }),
  ]);
}

function runMarks(runs: readonly ContourRun[], { x, y, area }: Frame): Content[] {
  const places = new Map<string, { run: ContourRun; count: number }>();
  for (const run of runs) {
    const key = `${run.outcome} ${x.at(run.x).toFixed(1)} ${y.at(run.y).toFixed(1)}`;
    const place = places.get(key);
    if (place) place.count++;
    else places.set(key, { run, count: 1 });
  }
  // Marks of one place stand side by side, measured ones first, towards the middle of the area.
  const taken = new Map<string, number>();
  const ordered = [...places.values()].sort(
    (a, b) => Number(b.run.outcome === 'measured') - Number(a.run.outcome === 'measured'),
  );
  return ordered.map(({ run, count }) => {
    const at: Place = [x.at(run.x), y.at(run.y)];
    const key = at.map((value) => value.toFixed(0)).join(' ');
    const turn = taken.get(key) ?? 0;
    taken.set(key, turn + 1);
    const isRight = at[0] > (area.left + area.right) / 2;
    const shifted: Place = [at[0] + (isRight ? -1 : 1) * 34 * turn, at[1]];
    return [runMark(run.outcome, shifted), count > 1 && timesLabel(count, shifted, area, isRight)];
  });
}

/** How many runs a mark stands for, inside the area whatever edge the mark is on. */
function timesLabel(count: number, [x, y]: Place, area: Area, isRight: boolean): Content {
  const isTop = y < area.top + 16;
  const place: Place = [isRight ? x - 11 : x + 11, isTop ? y + 15 : y - 6];
  return label(place, `×${count}`, { size: 11, rim: true, anchor: isRight ? 'end' : 'start' });
}

/** Where runs and the recommended point stand, which labels keep clear of. */
function marksOf({ runs = [], recommended }: ContourData, { x, y }: Frame): Place[] {
  const all = recommended ? [...runs, recommended] : runs;
  return all.map((mark) => [x.at(mark.x), y.at(mark.y)]);
}

function headLine(data: ContourData, area: Area): Content {
  const isAbove = data.size === 'half' && isNameAbove(data);
  const nameAt: Place = [area.right, area.top - 12 - (isAbove ? lineHeight : 0)];
  const name = label(nameAt, valueName(data), { anchor: 'end', weight: 'bold' });
  if (!data.heldAt) return name;
  if (data.size !== 'half') return [label([8, area.top - 34], `held: ${data.heldAt}`, {}), name];
  return [heldLines(data).map((line, i) => label([8, 16 + lineHeight * i], line, {})), name];
}

function keyItems(data: ContourData, hatch: string): KeyItem[] {
  const runs = data.runs ?? [];
  const items: KeyItem[] = [];
  for (const outcome of ['measured', ...failureOutcomes] as const) {
    if (runs.some((run) => run.outcome === outcome)) {
      items.push({ mark: (at) => runMark(outcome, at), words: outcomeWords[outcome] });
    }
  }
  if (data.recommended)
    items.push({ mark: targetMark, words: data.recommendedSays ?? 'recommended' });
  if (data.window) {
    const stroke = { color: ink, width: 2.5, dash: '8 4' };
    items.push({
      mark: ([x, y]) =>
        polyline(
          [
            [x - 14, y],
            [x + 14, y],
          ],
          stroke,
        ),
      words: data.window.says,
    });
  }
  if (data.limit?.margin.some((margin) => margin < 0)) {
    const box = { width: 24, height: 14, fill: `url(#${hatch})`, stroke: ink };
    items.push({
      mark: ([x, y]) => element('rect', { x: x - 12, y: y - 7, ...box }),
      words: data.limit.says,
    });
  }
  return items;
}
