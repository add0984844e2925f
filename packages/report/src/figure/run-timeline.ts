import { type Content, element } from '../markup/markup.ts';
import { axisBelow } from './axis.ts';
import {
  type FigureWords,
  group,
  label,
  numberedIds,
  type Place,
  segment,
  svgFigure,
} from './drawing.ts';
import { hatchPattern, type KeyItem, keyRows } from './key.ts';
import { failureOutcomes, type Outcome, outcomeWords, runMark } from './mark.ts';
import { accent, ink, paper, quiet, rule } from './palette.ts';
import { figureWidth } from './plot.ts';
import { extent, linearScale, type Scale } from './scale.ts';

/** A stretch of the day spent on one cell; hours since the session began. */
export interface TimelineCell {
  readonly runOrder: number;
  readonly holdFromHour: number;
  readonly measureFromHour: number;
  readonly endHour: number;
  readonly outcome: Outcome;
  /** Which setting of the zones it belongs to. */
  readonly zoneSetting?: number;
}

/** What was done when: one row a session. */
export interface RunTimelineData extends FigureWords {
  readonly sessions: readonly { readonly name: string; readonly cells: readonly TimelineCell[] }[];
}

const rowHeight = 74;
const top = 16;

export function runTimeline(data: RunTimelineData, prefix: string): string {
  const ids = numberedIds(prefix);
  const area = {
    left: 92,
    right: figureWidth - 16,
    top,
    bottom: top + rowHeight * data.sessions.length,
  };
  const ends = data.sessions.flatMap(({ cells }) => cells.map(({ endHour }) => endHour));
  const hours = linearScale({
    low: 0,
    high: extent(ends)[1],
    from: area.left,
    to: area.right,
    ticks: 10,
  });
  const hatch = ids();
  const [key, keyHeight] = keyRows(keyItems(data, hatch), { ...area, top: area.bottom + 58 });
  return svgFigure(
    { ...data, width: figureWidth, height: area.bottom + 58 + keyHeight, ids },
    element('defs', {}, hatchPattern(hatch)),
    data.sessions.map(({ name, cells }, i) => {
      const y = top + rowHeight * i;
      return group(
        {},
        label([8, y + 40], name, { weight: 'bold' }),
        segment([area.left, y + 48], [area.right, y + 48], { color: rule }),
        zoneSettings(cells, hours, y),
        cells.map((cell) => timelineCell(cell, hours, { y: y + 24, hatch })),
      );
    }),
    axisBelow(hours, area, { label: 'time since the session began', unit: 'h' }),
    key,
  );
}

function timelineCell(
  cell: TimelineCell,
  hours: Scale,
  { y, hatch }: { y: number; hatch: string },
): Content {
  const [from, measure, to] = [cell.holdFromHour, cell.measureFromHour, cell.endHour].map((hour) =>
    hours.at(hour),
  ) as [number, number, number];
  const box = { y, height: 24, stroke: ink, 'stroke-width': 0.75 };
  const middle: Place = [(measure + to) / 2, y + 12];
  return [
    element('rect', { ...box, x: from, width: Math.max(0, measure - from), fill: paper }),
    element('rect', {
      ...box,
      x: from,
      width: Math.max(0, measure - from),
      fill: `url(#${hatch})`,
      'fill-opacity': 0.45,
    }),
    element('rect', {
      ...box,
      x: measure,
      width: Math.max(0, to - measure),
      fill: cell.outcome === 'measured' ? accent : paper,
    }),
    cell.outcome !== 'measured' && runMark(cell.outcome, middle),
    label([(from + to) / 2, y + 38], String(cell.runOrder), { anchor: 'middle', size: 10 }),
  ];
}

/** A bracket over the cells that share one setting of the zones. */
function zoneSettings(cells: readonly TimelineCell[], hours: Scale, y: number): Content[] {
  const spans = new Map<number, [number, number]>();
  for (const { zoneSetting, holdFromHour, endHour } of cells) {
    if (zoneSetting === undefined) continue;
    const span = spans.get(zoneSetting);
    if (span) span[1] = endHour;
    else spans.set(zoneSetting, [holdFromHour, endHour]);
  }
  return [...spans].map(([setting, [from, to]]) => {
    const [left, right] = [hours.at(from) + 1, hours.at(to) - 1];
    return [
      segment([left, y + 18], [right, y + 18], { color: quiet, width: 1.5 }),
      label([(left + right) / 2, y + 13], `z${setting}`, {
        anchor: 'middle',
        size: 10,
        color: quiet,
      }),
    ];
  });
}

function keyItems({ sessions }: RunTimelineData, hatch: string): KeyItem[] {
  const cells = sessions.flatMap((session) => session.cells);
  const box =
    (fill: string) =>
    ([x, y]: Place): Content =>
      element('rect', {
        x: x - 12,
        y: y - 7,
        width: 24,
        height: 14,
        fill,
        stroke: ink,
        'stroke-width': 0.75,
      });
  const items: KeyItem[] = [
    { mark: box(`url(#${hatch})`), words: 'hold' },
    { mark: box(accent), words: 'measured' },
  ];
  for (const outcome of failureOutcomes) {
    if (cells.some((cell) => cell.outcome === outcome)) {
      items.push({ mark: (at) => runMark(outcome, at), words: outcomeWords[outcome] });
    }
  }
  if (cells.some(({ zoneSetting }) => zoneSetting !== undefined)) {
    const bracket = ([x, y]: Place): Content =>
      segment([x - 12, y], [x + 12, y], { color: quiet, width: 1.5 });
    items.push({ mark: bracket, words: 'one setting of the zones (z)' });
  }
  return items;
}
