import { DomainError } from '../error/domain-error.ts';
import type { Happening, StudyEvent } from './event.ts';
import { nextState, studyState } from './fold.ts';
import type { Clock, StudyStore } from './ports.ts';
import { redoable } from './redo.ts';
import { refusal } from './refusal.ts';
import type { StudyState } from './state.ts';

/**
 * One writer's open study: its log as read, its state, and the only way to add to it. Whatever is
 * recorded is on disk before the new state can be seen.
 */
export interface Journal {
  readonly store: StudyStore;
  events(): readonly StudyEvent[];
  state(): StudyState;
  /**
   * Records what happened and returns the state after it.
   * @throws {DomainError} `refused` when it does not fit the study's state
   * @throws {StaleStudyError} when someone else wrote first; `refresh`, then decide again
   */
  record(what: Happening, why?: string): StudyState;
  /** Takes back the latest undoable entry. */
  undo(): StudyState;
  /** Records again what the last undo took back. */
  redo(): StudyState;
  /** Reads what others have added. */
  refresh(): StudyState;
  /** From now on entries are by this person. */
  signAs(who: string): void;
  signer(): string;
}

/** Opens the journal of a study that its store holds. */
export function openJournal(store: StudyStore, clock: Clock, who: string): Journal {
  let signer = who;
  let log = [...store.events()];
  let state = studyState(log);
  const record = (what: Happening, why?: string): StudyState => {
    const wrong = refusal(state, what);
    if (wrong !== null) throw new DomainError('refused', wrong, { kind: what.kind });
    // A clock that was set back must not put an entry before the one it follows.
    const at = new Date(Math.max(clock.now(), Date.parse(state.lastAt))).toISOString();
    const entry = { at, who: signer, what };
    const added = store.append([why === undefined ? entry : { ...entry, why }], state.lastSeq);
    for (const event of added) {
      log.push(event);
      state = nextState(state, event, log);
    }
    return state;
  };
  return {
    store,
    events: () => log,
    state: () => state,
    record,
    undo: () => {
      const last = state.undoable.at(-1);
      if (!last) throw new DomainError('refused', 'There is nothing to undo.');
      return record({ kind: 'entry undone', seq: last.seq });
    },
    redo: () => {
      const last = redoable(log);
      if (!last) throw new DomainError('refused', 'There is nothing to put back.');
      return record(last.what, last.why);
    },
    refresh: () => {
      const newer = store.events(state.lastSeq);
      if (newer.length > 0) {
        log = [...log, ...newer];
        state = studyState(log);
      }
      return state;
    },
    signAs: (next) => {
      signer = next;
    },
    signer: () => signer,
  };
}
