import { DomainError } from '../error/domain-error.ts';
import { codedPoint } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { duration } from '../measurement/words.ts';
import { replaceCell, withCell } from './cell-fold.ts';
import type { Happening, HappeningKind, HappeningOf, StudyEvent } from './event.ts';
import { type CellState, freshCell, type StudyState, type Trouble } from './state.ts';

/** Kinds that undo may take back: what an operator or analyst can mistype. */
const undoableKinds: ReadonlySet<HappeningKind> = new Set<HappeningKind>([
  'settings entered',
  'hold ended',
  'log attached',
  'value entered',
  'bubbles counted',
  'bubbles recounted',
  'note written',
  'cell finished',
  'cell failed',
  'cell postponed',
  'cell left out',
  'cell reopened',
  'holds learned',
  'scout step',
  'model chosen',
  'checks confirmed',
]);

/** True when undo may take this kind of event back. */
export const isUndoable = (kind: HappeningKind): boolean => undoableKinds.has(kind);

/**
 * The state of a study: a pure fold of its events. Undone events are left out of the fold but stay
 * in the log; the undo itself is an event.
 *
 * @param events - the whole log, in order, starting with `study opened`
 * @throws {DomainError} `not_a_study` when the first event does not open a study
 * @throws {DomainError} `broken_log` when sequence numbers are not 1, 2, 3, …
 */
export function studyState(events: readonly StudyEvent[]): StudyState {
  const first = events[0];
  if (first?.what.kind !== 'study opened') {
    throw new DomainError(
      'not_a_study',
      `studyState: the first entry must open a study; got ${first ? `"${first.what.kind}"` : 'no entries'}. Make a study with "strandwise new".`,
    );
  }
  const undone = new Set<number>();
  for (const [i, event] of events.entries()) {
    if (event.seq !== i + 1) {
      throw new DomainError(
        'broken_log',
        `studyState: entries must count 1, 2, 3, …; got ${event.seq} in place ${i + 1}. Run "strandwise verify" on the file.`,
        { seq: event.seq, place: i + 1 },
      );
    }
    if (event.what.kind === 'entry undone') undone.add(event.what.seq);
  }
  let state = openedState(first, first.what);
  for (const event of events.slice(1)) {
    const seen = noticed(state, event);
    state =
      undone.has(event.seq) || event.what.kind === 'entry undone' ? seen : applied(seen, event);
  }
  return state;
}

/**
 * The state after one more event: the same as folding the whole log again, without doing so unless
 * the event is an undo.
 */
export function nextState(
  state: StudyState,
  event: StudyEvent,
  log: readonly StudyEvent[],
): StudyState {
  if (event.what.kind === 'entry undone') return studyState(log);
  return applied(noticed(state, event), event);
}

function openedState(event: StudyEvent, opened: HappeningOf<'study opened'>): StudyState {
  return {
    opened,
    openedAt: event.at,
    lastSeq: event.seq,
    lastAt: event.at,
    people: [event.who],
    plan: null,
    planVersion: 0,
    cells: [],
    queue: [],
    checks: null,
    checksAt: null,
    barrelHolds: null,
    scouting: [],
    isScouted: false,
    exceptions: [],
    models: {},
    notes: [],
    recipe: null,
    released: null,
    spools: [],
    isShutDown: false,
    gauges: {},
    troubles: [],
    learned: null,
    undoable: [],
  };
}

const noticed = (state: StudyState, event: StudyEvent): StudyState => ({
  ...state,
  lastSeq: event.seq,
  lastAt: event.at,
  people: state.people.includes(event.who) ? state.people : [...state.people, event.who],
});

function applied(state: StudyState, event: StudyEvent): StudyState {
  const after = appliedHappening(state, event.what, event);
  return isUndoable(event.what.kind) ? { ...after, undoable: [...state.undoable, event] } : after;
}

function appliedHappening(state: StudyState, what: Happening, event: StudyEvent): StudyState {
  switch (what.kind) {
    case 'plan adopted':
      return {
        ...state,
        plan: what.plan,
        planVersion: state.planVersion + 1,
        cells: what.plan.runs.map((run, i) => freshCell(i + 1, run, 'plan')),
        queue: what.plan.runs.map((_, i) => i + 1),
        recipe: null,
        undoable: [],
      };
    case 'plan extended': {
      const offset = state.cells.length;
      const added = what.runs.map((run, i) => freshCell(offset + i + 1, run, what.purpose));
      const kept = withoutCells(state, what.leftOut ?? []);
      return {
        ...kept,
        plan: kept.plan && what.model ? { ...kept.plan, model: what.model } : kept.plan,
        planVersion: state.planVersion + 1,
        cells: [...kept.cells, ...added],
        queue: [...kept.queue, ...added.map(({ cell }) => cell)],
      };
    }
    case 'checks confirmed':
      return {
        ...state,
        checks: what,
        checksAt: event.at,
        barrelHolds: what.barrelHolds,
        isShutDown: false,
      };
    case 'note written':
      return withNote(state, what, event);
    case 'scout step':
      return { ...state, scouting: [...state.scouting, what] };
    case 'ranges changed':
      return {
        ...state,
        opened: { ...state.opened, factors: what.factors },
        isScouted: true,
        cells: state.cells.map((cell) => recoded(cell, what.factors)),
      };
    case 'exception recorded':
      return { ...state, exceptions: [...state.exceptions, what] };
    case 'model chosen':
      return { ...state, models: { ...state.models, [what.response]: what.model } };
    case 'recipe proposed':
      return { ...state, recipe: what };
    case 'recipe released':
      return { ...state, released: what };
    case 'spool certified':
      return { ...state, spools: [...state.spools, what] };
    case 'shut down':
      // Before the next heating everything is asked again.
      return { ...state, barrelHolds: what.barrelHolds, isShutDown: true, checks: null };
    case 'gauge described':
      return { ...state, gauges: { ...state.gauges, [what.place]: what } };
    case 'gauge trouble':
      return withTrouble(state, { at: event.at, cell: what.cell, says: what.trouble });
    case 'clock jumped':
      return withClockJump(state, what, event);
    case 'holds learned':
      return {
        ...state,
        learned: what,
        opened: { ...state.opened, line: { ...state.opened.line, thermal: what.thermal } },
      };
    case 'study opened':
    case 'entry undone':
    case 'handed over':
      return state;
    default:
      return withCell(state, what, event);
  }
}

/** A cell with its settings coded on new ranges; its natural settings are what they were. */
function recoded(cell: CellState, factors: readonly Factor[]): CellState {
  const { natural } = cell.run;
  if (factors.some(({ name }) => natural[name] === undefined)) return cell;
  return { ...cell, run: { ...cell.run, coded: { ...codedPoint(natural, factors) } } };
}

/** Cells that nobody has begun are left out; begun ones stay, whatever is asked. */
function withoutCells(state: StudyState, numbers: readonly number[]): StudyState {
  const gone = new Set(numbers.filter((number) => state.cells[number - 1]?.status === 'waiting'));
  if (gone.size === 0) return state;
  return {
    ...state,
    cells: state.cells.map((cell) =>
      gone.has(cell.cell) ? { ...cell, status: 'left out' as const } : cell,
    ),
    queue: state.queue.filter((number) => !gone.has(number)),
  };
}

function withNote(
  state: StudyState,
  what: HappeningOf<'note written'>,
  { at, who }: StudyEvent,
): StudyState {
  const notes = [...state.notes, { at, who, cell: what.cell, text: what.text }];
  if (what.cell === null) return { ...state, notes };
  return replaceCell({ ...state, notes }, what.cell, (cell) => ({
    ...cell,
    notes: [...cell.notes, what.text],
  }));
}

const withTrouble = (state: StudyState, trouble: Trouble): StudyState => ({
  ...state,
  troubles: [...state.troubles, trouble],
});

function withClockJump(
  state: StudyState,
  { cell, bySeconds }: HappeningOf<'clock jumped'>,
  { at }: StudyEvent,
): StudyState {
  const says =
    bySeconds < 0
      ? `the clock was set back by ${duration(-bySeconds)}`
      : `${duration(bySeconds)} passed unwatched: the computer slept or its clock was set ahead`;
  const noted = withTrouble(state, { at, cell, says });
  if (cell === null || bySeconds < 0) return noted;
  return replaceCell(noted, cell, (was) => ({
    ...was,
    uncountedSeconds: was.uncountedSeconds + (was.status === 'holding' ? bySeconds : 0),
  }));
}
