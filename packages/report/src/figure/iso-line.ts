import { contours } from 'd3-contour';
import type { Place } from './drawing.ts';

/**
 * Values on a regular grid over a rectangle: row-major, first row at the lowest y, first column at
 * the lowest x. Grid points stand on the rectangle's edges.
 */
export interface Field {
  readonly columns: number;
  readonly rows: number;
  readonly values: readonly number[];
}

/** From grid steps (0 to columns − 1, 0 to rows − 1) to px. */
export type GridToPixel = (column: number, row: number) => Place;

/** Where the field is at least `threshold`: closed rings in px, outer rings and holes alike. */
export function ringsAbove(field: Field, threshold: number, toPixel: GridToPixel): Place[][] {
  return polygonsAbove(field, threshold).flatMap((rings) =>
    rings.map((ring) => ring.map(([x = 0, y = 0]) => toPixel(x - 0.5, y - 0.5))),
  );
}

/** The lines on which the field equals `threshold`, cut where they meet the rectangle's edge. */
export function isoLines(field: Field, threshold: number, toPixel: GridToPixel): Place[][] {
  const lines: Place[][] = [];
  for (const rings of polygonsAbove(field, threshold)) {
    for (const ring of rings) lines.push(...openLines(field, ring, toPixel));
  }
  return lines;
}

// The library puts grid point (i, j) at (i + ½, j + ½), hence the half steps above and below.
function polygonsAbove({ columns, rows, values }: Field, threshold: number): number[][][][] {
  const march = contours().size([columns, rows]).thresholds([threshold]);
  return march([...values]).flatMap(({ coordinates }) => coordinates);
}

/** The parts of a closed ring that do not run along the outside of the grid. */
function openLines(field: Field, ring: readonly number[][], toPixel: GridToPixel): Place[][] {
  const isOutside = ([x = 0, y = 0]: readonly number[]): boolean =>
    x <= 0.5 - 1e-9 ||
    x >= field.columns - 0.5 + 1e-9 ||
    y <= 0.5 - 1e-9 ||
    y >= field.rows - 0.5 + 1e-9;
  const points = ring.slice(0, -1);
  const start = points.findIndex(isOutside);
  const turned =
    start < 0 ? [...points, points[0]!] : [...points.slice(start), ...points.slice(0, start + 1)];
  const lines: Place[][] = [];
  let line: Place[] = [];
  for (const point of turned) {
    if (!isOutside(point)) {
      line.push(toPixel(point[0]! - 0.5, point[1]! - 0.5));
      continue;
    }
    if (line.length > 1) lines.push(line);
    line = [];
  }
  if (line.length > 1) lines.push(line);
  return lines;
}

/** Length of a line in px. */
export function lineLength(line: readonly Place[]): number {
  let length = 0;
  for (let i = 1; i < line.length; i++) {
    length += Math.hypot(line[i]![0] - line[i - 1]![0], line[i]![1] - line[i - 1]![1]);
  }
  return length;
}

/** The place at a share of a line's length, and the upright slope of the line there in degrees. */
export function placeAlong(line: readonly Place[], share: number): { at: Place; degrees: number } {
  const wanted = lineLength(line) * share;
  let walked = 0;
  for (let i = 1; i < line.length; i++) {
    const [from, to] = [line[i - 1]!, line[i]!];
    const step = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (walked + step >= wanted || i === line.length - 1) {
      const t = step === 0 ? 0 : Math.min(1, (wanted - walked) / step);
      const [before, after] = [line[Math.max(0, i - 3)]!, line[Math.min(line.length - 1, i + 2)]!];
      const slope = (Math.atan2(after[1] - before[1], after[0] - before[0]) * 180) / Math.PI;
      const degrees = slope > 90 ? slope - 180 : slope <= -90 ? slope + 180 : slope;
      return { at: [from[0] + t * (to[0] - from[0]), from[1] + t * (to[1] - from[1])], degrees };
    }
    walked += step;
  }
  return { at: line[0] ?? [0, 0], degrees: 0 };
}
