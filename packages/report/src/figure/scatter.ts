import { type Content, element } from '../markup/markup.ts';
import { label, type Place } from './drawing.ts';
import { accent, ink, paper, warn } from './palette.ts';

/** A point of a scatter. `label` names the few that deserve a name; `isOutlying` rings them. */
export interface ScatterPoint {
  readonly x: number;
  readonly y: number;
  readonly label?: string;
  readonly isOutlying?: boolean;
}

/** Discs with their labels on the side where there is more room. */
export function scatterMarks(
  points: readonly ScatterPoint[],
  toPixel: (point: ScatterPoint) => Place,
  right: number,
): Content[] {
  return points.map((point) => {
    const [x, y] = toPixel(point);
    const ring = { fill: 'none', stroke: warn, 'stroke-width': 1.75 };
    const isNearRight = x > right - 60;
    return [
      element('circle', { cx: x, cy: y, r: 3.75, fill: accent, stroke: paper, 'stroke-width': 1 }),
      point.isOutlying && element('circle', { cx: x, cy: y, r: 7.5, ...ring }),
      point.label !== undefined &&
        label([isNearRight ? x - 11 : x + 11, y + 4], point.label, {
          anchor: isNearRight ? 'end' : 'start',
          color: ink,
          rim: true,
        }),
    ];
  });
}
