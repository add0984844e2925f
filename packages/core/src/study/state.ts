import type { MeasuredResponses } from '../measurement/measured-responses.ts';
import type { PlannedRun } from '../schedule/planned-run.ts';
import type { Model } from '../term/term.ts';
import type { SetPoints } from '../trade/line.ts';
import type {
  AdoptedPlan,
  FailureDirection,
  HappeningOf,
  RawReference,
  StudyEvent,
  StudyOpened,
} from './event.ts';

/** What is known of a cell's measuring: the log, what was read from it, the counts, the notes. */
export interface CellReadings {
  readonly log: {
    readonly raw: RawReference;
    readonly rows: number;
    readonly says: readonly string[];
    /** The gauge it was heard from live; absent when a file was attached. */
    readonly gauge?: string;
  } | null;
  readonly measured: MeasuredResponses | null;
  readonly values: Readonly<Record<string, number>>;
  readonly bubbles: { readonly count: number; readonly metres: number } | null;
  /** Counts of the same strand again; the first count stays the one that is analysed. */
  readonly recounts: readonly HappeningOf<'bubbles recounted'>[];
}

/** Where a cell stands. A failed attempt that is tried again goes back to `waiting`. */
export type CellStatus = 'waiting' | 'holding' | 'measuring' | 'done' | 'failed' | 'left out';

export interface CellFailure {
  readonly direction: FailureDirection;
  readonly at: string;
  readonly setPoints: SetPoints | null;
  readonly why?: string;
  /** Path of a photo or file that shows it. */
  readonly evidence?: string;
}

export interface CellState {
  readonly cell: number;
  readonly run: PlannedRun;
  readonly purpose: 'plan' | 'augment' | 'confirm' | 'replace';
  readonly status: CellStatus;
  readonly entered: SetPoints | null;
  readonly enteredAt: string | null;
  readonly holdSeconds: number | null;
  readonly holdEndedAt: string | null;
  readonly heldSeconds: number | null;
  /** Time since `enteredAt` that the clock made up or that nobody watched; not part of the hold. */
  readonly uncountedSeconds: number;
  readonly finishedAt: string | null;
  /** When its settings were entered; null when nobody noted the drying. */
  readonly hoursSinceDrying: number | null;
  readonly readings: CellReadings;
  readonly notes: readonly string[];
  readonly failures: readonly CellFailure[];
}

export interface Note {
  readonly at: string;
  readonly who: string;
  readonly cell: number | null;
  readonly text: string;
}

/** Something the gauge or the clock did that a reader of the numbers should know. */
export interface Trouble {
  readonly at: string;
  readonly cell: number | null;
  readonly says: string;
}

/** The stages of the job, in the words of the screens. */
export type Stage =
  | 'grade'
  | 'scout'
  | 'plan'
  | 'walk'
  | 'fit'
  | 'confirm'
  | 'release'
  | 'shutdown';

export interface StudyState {
  readonly opened: StudyOpened;
  readonly openedAt: string;
  readonly lastSeq: number;
  readonly lastAt: string;
  readonly people: readonly string[];
  readonly plan: AdoptedPlan | null;
  readonly planVersion: number;
  readonly cells: readonly CellState[];
  /** Cell numbers still to do, in the order to do them; the first is the current cell. */
  readonly queue: readonly number[];
  readonly checks: HappeningOf<'checks confirmed'> | null;
  readonly checksAt: string | null;
  readonly barrelHolds: string | null;
  readonly scouting: readonly HappeningOf<'scout step'>[];
  /** True once ranges have been taken over from scouting or changed by hand. */
  readonly isScouted: boolean;
  readonly exceptions: readonly HappeningOf<'exception recorded'>[];
  readonly models: Readonly<Record<string, Model>>;
  readonly notes: readonly Note[];
  readonly recipe: HappeningOf<'recipe proposed'> | null;
  readonly released: HappeningOf<'recipe released'> | null;
  readonly spools: readonly HappeningOf<'spool certified'>[];
  readonly isShutDown: boolean;
  /** The latest description of each gauge, by its place. */
  readonly gauges: Readonly<Record<string, HappeningOf<'gauge described'>>>;
  readonly troubles: readonly Trouble[];
  readonly learned: HappeningOf<'holds learned'> | null;
  /** Events that undo can still take back, newest last. */
  readonly undoable: readonly StudyEvent[];
}

const noReadings: CellReadings = {
  log: null,
  measured: null,
  values: {},
  bubbles: null,
  recounts: [],
};

/** A cell that nobody has touched yet. */
export function freshCell(cell: number, run: PlannedRun, purpose: CellState['purpose']): CellState {
  return {
    cell,
    run,
    purpose,
    status: 'waiting',
    entered: null,
    enteredAt: null,
    holdSeconds: null,
    holdEndedAt: null,
    heldSeconds: null,
    uncountedSeconds: 0,
    finishedAt: null,
    hoursSinceDrying: null,
    readings: noReadings,
    notes: [],
    failures: [],
  };
}

/** The cell to work on now, or undefined when the walk is over or not planned. */
export function currentCell(state: StudyState): CellState | undefined {
  const first = state.queue[0];
  return first === undefined ? undefined : state.cells[first - 1];
}

/** The stage a study has reached, from what has happened to it. */
export function stageOf(state: StudyState): Stage {
  if (state.isShutDown) return 'shutdown';
  if (state.released) return 'release';
  if (state.plan === null) return state.scouting.length > 0 && !state.isScouted ? 'scout' : 'plan';
  if (state.queue.length > 0) {
    const next = currentCell(state);
    return next?.purpose === 'confirm' ? 'confirm' : 'walk';
  }
  if (state.recipe === null) return 'fit';
  const hasConfirmed = state.cells.some(
    ({ purpose, status }) => purpose === 'confirm' && status === 'done',
  );
  return hasConfirmed ? 'release' : 'confirm';
}
