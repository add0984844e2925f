import type { HappeningOf, StudyEvent } from './event.ts';
import {
  type CellFailure,
  type CellReadings,
  type CellState,
  freshCell,
  type StudyState,
} from './state.ts';

/** What happens to one cell of a walk. */
export type CellHappening = HappeningOf<
  | 'settings entered'
  | 'hold ended'
  | 'log attached'
  | 'value entered'
  | 'bubbles counted'
  | 'bubbles recounted'
  | 'cell finished'
  | 'cell failed'
  | 'cell postponed'
  | 'cell left out'
  | 'cell reopened'
>;

const MS_PER_HOUR = 3_600_000;

/** As noted before heating, and the hours since then. */
function hoursSinceDrying({ checks, checksAt }: StudyState, at: string): number | null {
  if (checks?.hoursSinceDrying == null || checksAt === null) return null;
  return checks.hoursSinceDrying + (Date.parse(at) - Date.parse(checksAt)) / MS_PER_HOUR;
}

/** The state after something happened to a cell. */
export function withCell(
  state: StudyState,
  what: CellHappening,
  { at, why }: StudyEvent,
): StudyState {
  switch (what.kind) {
    case 'settings entered': {
      const { grade } = state.opened;
      return replaceCell({ ...state, barrelHolds: grade.name }, what.cell, (cell) => ({
        ...cell,
        status: 'holding',
        entered: what.setPoints,
        enteredAt: at,
        uncountedSeconds: 0,
        holdSeconds: what.holdSeconds,
        hoursSinceDrying: hoursSinceDrying(state, at),
      }));
    }
    case 'hold ended':
      return replaceCell(state, what.cell, (cell) => ({
        ...cell,
        status: 'measuring',
        holdEndedAt: at,
        heldSeconds: what.heldSeconds,
      }));
    case 'log attached':
      return withReadings(state, what.cell, (readings) => ({
        ...readings,
        log: {
          raw: what.raw,
          rows: what.rows,
          says: what.says,
          ...(what.gauge === undefined ? {} : { gauge: what.gauge }),
        },
        measured: what.measured,
      }));
    case 'value entered':
      return withReadings(state, what.cell, (readings) => ({
        ...readings,
        values: { ...readings.values, [what.response]: what.value },
      }));
    case 'bubbles counted':
      return withReadings(state, what.cell, (readings) => ({
        ...readings,
        bubbles: { count: what.count, metres: what.metres },
      }));
    case 'bubbles recounted':
      return withReadings(state, what.cell, (readings) => ({
        ...readings,
        recounts: [...readings.recounts, what],
      }));
    case 'cell left out':
      return {
        ...replaceCell(state, what.cell, (cell) => ({ ...cell, status: 'left out' })),
        queue: state.queue.filter((cell) => cell !== what.cell),
      };
    case 'cell finished':
      return {
        ...replaceCell(state, what.cell, (cell) => ({ ...cell, status: 'done', finishedAt: at })),
        queue: state.queue.filter((cell) => cell !== what.cell),
      };
    case 'cell postponed':
      return { ...state, queue: movedToEnd(state.queue, what.cell) };
    case 'cell reopened':
      return {
        ...replaceCell(state, what.cell, restarted),
        queue: [what.cell, ...state.queue.filter((cell) => cell !== what.cell)],
      };
    case 'cell failed':
      return withFailure(state, what, { at, why });
  }
}

function withFailure(
  state: StudyState,
  what: HappeningOf<'cell failed'>,
  { at, why }: { readonly at: string; readonly why: string | undefined },
): StudyState {
  const failed = replaceCell(state, what.cell, (cell) => {
    const failure: CellFailure = {
      direction: what.direction,
      at,
      setPoints: cell.entered,
      ...(why === undefined ? {} : { why }),
      ...(what.evidence === undefined ? {} : { evidence: what.evidence }),
    };
    const failures = [...cell.failures, failure];
    if (what.next === 'leave out') return { ...cell, failures, status: 'failed', finishedAt: at };
    return { ...restarted(cell), failures };
  });
  if (what.next === 'leave out') {
    return { ...failed, queue: state.queue.filter((cell) => cell !== what.cell) };
  }
  return what.next === 'later' ? { ...failed, queue: movedToEnd(state.queue, what.cell) } : failed;
}

const restarted = (cell: CellState): CellState => ({
  ...freshCell(cell.cell, cell.run, cell.purpose),
  notes: cell.notes,
  failures: cell.failures,
});

const movedToEnd = (queue: readonly number[], cell: number): number[] => [
  ...queue.filter((other) => other !== cell),
  cell,
];

function withReadings(
  state: StudyState,
  number: number,
  change: (readings: CellReadings) => CellReadings,
): StudyState {
  return replaceCell(state, number, (cell) => ({ ...cell, readings: change(cell.readings) }));
}

/** The state with one cell changed. */
export function replaceCell(
  state: StudyState,
  number: number,
  change: (cell: CellState) => CellState,
): StudyState {
  return {
    ...state,
    cells: state.cells.map((cell) => (cell.cell === number ? change(cell) : cell)),
  };
}
