import type { Point } from '../factor/coding.ts';

/** Coded settings this close are one setting: rounding of natural units, not a change. */
export const SAME_SETTING = 1e-9;

/**
 * Group number of each run, counted from 0 in order of first appearance: runs at equal settings in
 * equal blocks share one.
 *
 * @param points - coded, one a run; named levels by name
 * @param blocks - block of each run; one block when left out
 */
export function replicateGroups(
  points: readonly Point[],
  blocks?: readonly (number | string)[],
): Int32Array {
  const names = Object.keys(points[0] ?? {});
  const firsts: number[] = [];
  return Int32Array.from(points, (point, i) => {
    const found = firsts.findIndex(
      (first) => blocks?.[first] === blocks?.[i] && isSameSetting(points[first]!, point, names),
    );
    if (found >= 0) return found;
    return firsts.push(i) - 1;
  });
}

function isSameSetting(a: Point, b: Point, names: readonly string[]): boolean {
  for (const name of names) {
    const one = a[name];
    const other = b[name];
    const isClose =
      typeof one === 'number' && typeof other === 'number'
        ? Math.abs(one - other) <= SAME_SETTING
        : one === other;
    if (!isClose) return false;
  }
  return true;
}
