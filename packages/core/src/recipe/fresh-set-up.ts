import { studyResponses } from '../study/run-table.ts';
import type { CellState, StudyState } from '../study/state.ts';
import type { SetPoints } from '../trade/line.ts';
import { setPointsSame } from './same-set-points.ts';

/** One fresh set-up at a recipe: one cell, or several that were not set anew in between. */
export interface FreshSetUp {
  readonly cells: readonly number[];
  /** By response name, own unit: the mean of its cells. */
  readonly values: Readonly<Record<string, number>>;
}

/**
 * Confirmation cells at the recipe in time order, those entered one after another at the same set
 * points taken as one set-up: several readings of one hold prove nothing about the next.
 */
export function freshSetUps(state: StudyState, setPoints: SetPoints): FreshSetUp[] {
  const entered = state.cells
    .filter((cell) => cell.entered !== null && cell.enteredAt !== null)
    .sort((a, b) =>
      a.enteredAt! < b.enteredAt! ? -1 : a.enteredAt! > b.enteredAt! ? 1 : a.cell - b.cell,
    );
  const groups: CellState[][] = [];
  let isUnbroken = false;
  for (const cell of entered) {
    const isHere = setPointsSame(cell.entered!, setPoints);
    if (isHere && cell.purpose === 'confirm' && cell.status === 'done') {
      if (isUnbroken) groups.at(-1)!.push(cell);
      else groups.push([cell]);
    }
    isUnbroken = isHere && groups.length > 0;
  }
  return groups.map((cells) => ({
    cells: cells.map(({ cell }) => cell),
    values: meanValues(state, cells),
  }));
}

/** Means of each response over cells: geometric for spreads, events over length for counts. */
function meanValues(state: StudyState, cells: readonly CellState[]): Record<string, number> {
  const out: Record<string, number> = {};
  for (const { response, value, exposure } of studyResponses(state)) {
    const read = cells.flatMap((cell) => {
      const own = value(cell);
      return own === null ? [] : [{ own, length: exposure?.(cell) ?? 1 }];
    });
    if (read.length === 0) continue;
    const sum = (of: (each: { own: number; length: number }) => number): number =>
      read.reduce((total, each) => total + of(each), 0);
    if (response.kind === 'count')
      out[response.name] = sum(({ own }) => own) / sum((e) => e.length);
    else if (response.kind === 'spread')
      out[response.name] = Math.exp(sum(({ own }) => Math.log(own)) / read.length);
    else out[response.name] = sum(({ own }) => own) / read.length;
  }
  return out;
}
