import { significantFigures } from '../format/number.ts';
import { type Content, coordinate, element, type Markup } from '../markup/markup.ts';
import type { Area } from './axis.ts';
import { label, type Place, pathData, polyline, textWidth } from './drawing.ts';
import {
  type Field,
  type GridToPixel,
  isoLines,
  lineLength,
  placeAlong,
  ringsAbove,
} from './iso-line.ts';
import { ink, paper, scaleColor } from './palette.ts';
import type { Scale } from './scale.ts';

/** The plotting area of a surface, with the ways into it from natural units and from the grid. */
export interface Frame {
  readonly area: Area;
  readonly x: Scale;
  readonly y: Scale;
  readonly toPixel: GridToPixel;
  readonly clip: string;
}

export const areaRect = (
  { left, right, top, bottom }: Area,
  style: Record<string, string | number> = {},
): Markup =>
  element('rect', { x: left, y: top, width: right - left, height: bottom - top, ...style });

/** Bands between the levels, pale to deep. */
export function bandFills(
  field: Field,
  levels: readonly number[],
  { area, toPixel }: Frame,
): Content[] {
  const steps = Math.max(1, levels.length);
  return [
    areaRect(area, { fill: scaleColor(0) }),
    ...levels.map((level, i) =>
      element('path', {
        d: ringsAbove(field, level, toPixel)
          .map((ring) => pathData(ring, true))
          .join(''),
        fill: scaleColor((i + 1) / steps),
        'fill-rule': 'evenodd',
      }),
    ),
  ];
}

/** The lines at the levels. */
export function levelLines(field: Field, levels: readonly number[], { toPixel }: Frame): Content[] {
  return levels.flatMap((level) =>
    isoLines(field, level, toPixel).map((line) => polyline(line, { color: ink, width: 0.9 })),
  );
}

/** One label a level, where its longest line has room that no mark or other label takes. */
export function levelLabels(
  field: Field,
  {
    levels,
    labels,
  }: { readonly levels: readonly number[]; readonly labels?: readonly string[] | undefined },
  { frame, marks }: { readonly frame: Frame; readonly marks: readonly Place[] },
): Content[] {
  const taken = [...marks];
  return levels.map((level, i) => {
    const lines = isoLines(field, level, frame.toPixel);
    const longest = lines.sort((a, b) => lineLength(b) - lineLength(a))[0];
    if (!longest || lineLength(longest) < 50) return null;
    const text = labels?.[i] ?? levelText(level);
    const spots = [0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78].map((share) => placeAlong(longest, share));
    const spot = spots.find(({ at }) => hasRoom(at, textWidth(text), taken, frame.area));
    if (!spot) return null;
    taken.push(spot.at);
    return levelTag(text, spot);
  });
}

/** A level's number on a pale tag along its line, so that no line strikes it through. */
function levelTag(text: string, { at: [x, y], degrees }: { at: Place; degrees: number }): Content {
  const width = textWidth(text) + 5;
  const tag = {
    x: x - width / 2,
    y: y - 7,
    width,
    height: 14,
    rx: 3,
    fill: paper,
    'fill-opacity': 0.8,
  };
  return element(
    'g',
    { transform: `rotate(${coordinate(degrees)} ${coordinate(x)} ${coordinate(y)})` },
    element('rect', tag),
    label([x, y + 4], text, { anchor: 'middle' }),
  );
}

const hasRoom = ([x, y]: Place, width: number, taken: readonly Place[], area: Area): boolean =>
  x - width / 2 > area.left &&
  x + width / 2 < area.right &&
  y > area.top + 10 &&
  y < area.bottom - 10 &&
  taken.every(([tx, ty]) => Math.hypot(tx - x, ty - y) > width / 2 + 14);

const levelText = (level: number): string =>
  Number.isInteger(level) && Math.abs(level) < 1e5
    ? significantFigures(level, Math.max(1, String(Math.abs(level)).length))
    : significantFigures(
        level,
        Math.min(3, String(Math.abs(level)).replace(/^0?\.0*|\./g, '').length),
      );
