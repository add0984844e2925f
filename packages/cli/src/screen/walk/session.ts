import {
  type Briefing,
  briefing,
  type CellLoss,
  cellLoss,
  currentCell,
  duration,
  type Happening,
  type Journal,
  type PlannedRun,
  type ReadingSource,
  replacementRun,
  type StudyState,
} from '@strandwise/core';
import type { LineFormat } from '@strandwise/gauge';
import { type LiveRecorder, liveRecorder } from '../../reading/live-recorder.ts';
import { measuredLive } from '../../reading/measured-live.ts';
import type { SteadyClock } from '../../reading/steady-clock.ts';
import type { Trainer, TrainerLook } from '../../reading/trainer.ts';
import type { WalkClaim } from './claim.ts';
import { followCell, inWork, secondsBetween } from './follow-cell.ts';
import { firstGate } from './gate-steps.ts';
import { holdState } from './hold.ts';
import { holdLearner } from './hold-learner.ts';
import { keepScreen, keptScreen } from './kept-screen.ts';
import { type Pressed, walkIntent } from './keys.ts';
import type { HoldOffer, WalkDeed, WalkFacts, WalkScreen } from './screen.ts';
import { reduceWalk } from './state.ts';

/** What a walk needs of the world. */
export interface WalkSessionOf {
  readonly journal: Journal;
  readonly clock: SteadyClock;
  readonly claim?: WalkClaim;
  /** A live gauge with the format of its lines. */
  readonly gauge?: { readonly source: ReadingSource; readonly format: LineFormat };
  readonly trainer?: Trainer;
  /** Reads a log file into the study for a cell; returns what to tell the operator. */
  readonly attachLog: (path: string, cell: number) => string;
  readonly bell?: () => void;
  /** Real time that only counts on, ms; for how long a notice stands. */
  readonly ticking?: () => number;
}

/** One walk of one study: what is shown, and what happens when a key is pressed. */
export interface WalkSession {
  screen(): WalkScreen;
  facts(): WalkFacts;
  press(key: Pressed): void;
  /** Call every `tickMs`. */
  tick(): void;
  readonly tickMs: number;
  close(): Promise<void>;
}

const TICK_MS = 250;
const FLUSH_MS = 2000;
const BEAT_MS = 5000;
const NOTICE_MS = 15_000;
/** After a pause like this the line may have cooled: everything is asked again. */
const NEW_SESSION_MS = 4 * 3_600_000;

export function walkSession(options: WalkSessionOf): WalkSession {
  const { journal, clock, claim, gauge, trainer, attachLog, bell } = options;
  const { drafts } = journal.store;
  const ticking = options.ticking ?? ((): number => performance.now());
  const startedMs = clock.now();
  const pausedMs = startedMs - Date.parse(journal.state().lastAt);
  let screen = keptScreen(drafts, journal.events());
  let brief: { readonly of: unknown[]; readonly value: Briefing | null } = { of: [], value: null };
  let asked: {
    readonly key: string;
    readonly loss: CellLoss;
    readonly nearer: PlannedRun | null;
  } | null = null;
  let offered: { readonly seq: number; readonly value: HoldOffer | null } = {
    seq: -1,
    value: null,
  };
  let seen: TrainerLook | null = null;
  let flushedMs = startedMs;
  let beatMs = startedMs;
  let hasRung = false;
  let settledMs: number | null = null;
  let told: { readonly notice: string | null; readonly atMs: number } = { notice: null, atMs: 0 };

  const learner = holdLearner(journal.store);
  const recorder: LiveRecorder | null = gauge
    ? liveRecorder({
        ...gauge,
        drafts,
        now: clock.now,
        onTrouble: (trouble) => {
          const cell = inWork(journal.state())?.cell ?? null;
          recordQuietly({ kind: 'gauge trouble', cell, trouble });
        },
        onFault: (error) => tell(error.message),
      })
    : null;

  const tell = (notice: string): void => {
    screen = { ...screen, notice };
  };
  const recordQuietly = (what: Happening): void => {
    try {
      journal.record(what);
      keepScreen(drafts, screen, journal.state().lastSeq);
    } catch (error) {
      tell(explained(error, journal));
    }
  };

  const briefed = (): Briefing | null => {
    const study = journal.state();
    const cell = currentCell(study)?.cell;
    const keyedIn = screen.edits?.cell === cell ? screen.edits?.setPoints : undefined;
    if (brief.of[0] !== study || brief.of[1] !== keyedIn)
      brief = { of: [study, keyedIn], value: briefing(study, keyedIn) };
    return brief.value;
  };
  const facts = (): WalkFacts => {
    const study = journal.state();
    const briefNow = briefed();
    const isAsked = screen.mode.kind === 'failed then' || screen.mode.kind === 'skipping';
    if (isAsked && briefNow) asked = costOf(study, briefNow, asked);
    if (trainer) seen = merged(seen, trainer.look());
    return {
      study,
      briefing: briefNow,
      nowMs: clock.now(),
      mustCheck: mustCheck(study),
      live: recorder?.view() ?? null,
      settledMs,
      metresSuggested: seen && seen.metres > 0 ? seen.metres : null,
      loss: isAsked ? (asked?.loss ?? null) : null,
      nearer: isAsked ? (asked?.nearer ?? null) : null,
      offer: offered.value,
      trainer: seen,
      who: journal.signer(),
      isWatching: false,
    };
  };
  const mustCheck = ({ checks, checksAt, queue }: StudyState): boolean => {
    if (queue.length === 0) return false;
    const isOld = checksAt === null || Date.parse(checksAt) < startedMs;
    return checks === null || (pausedMs > NEW_SESSION_MS && isOld);
  };

  /** Brings gauge, trainer and mode in step with the study after something was recorded. */
  const inStep = (isOpening = false): void => {
    const study = journal.state();
    const cell = inWork(study);
    if (recorder) followCell(recorder, study, cell, isOpening);
    if (screen.mode.kind === 'cell' && mustCheck(study))
      screen = { ...screen, mode: firstGate(study) };
    if (screen.mode.kind === 'gate' && !mustCheck(study))
      screen = { ...screen, mode: { kind: 'cell' } };
    if (offered.seq !== study.lastSeq)
      offered = { seq: study.lastSeq, value: learner.offer(study) };
    if (cell?.status !== 'holding') {
      hasRung = false;
      settledMs = null;
    }
  };

  const perform = (deed: WalkDeed): string | null => {
    switch (deed.kind) {
      case 'record':
        journal.record(withRaw(deed.what), deed.why);
        if (deed.what.kind === 'settings entered') {
          trainer?.set(deed.what.setPoints);
          seen = null;
        }
        if (deed.what.kind === 'hold ended') seen = null;
        return null;
      case 'undo': {
        const last = journal.state().undoable.at(-1)!;
        journal.undo();
        return `Taken back: ${inWords(last.what)}. y puts it back.`;
      }
      case 'redo':
        return `Put back: ${inWords(journal.redo() && journal.events().at(-1)!.what)}.`;
      case 'read log':
        return attachLog(deed.path, deed.cell);
      case 'keep live log':
        return keptLiveLog(deed.cell, deed.anyway);
      case 'sign as':
        journal.signAs(deed.who);
        claim?.beat(deed.who, clock.now());
        return null;
    }
  };

  /** A failed cell keeps what the gauge saw until then. */
  const withRaw = (what: Happening): Happening => {
    const bytes = what.kind === 'cell failed' ? recorder?.bytes() : null;
    if (what.kind !== 'cell failed' || !bytes) return what;
    return { ...what, raw: journal.store.putRaw(`cell-${what.cell}-failed.log`, bytes) };
  };

  const keptLiveLog = (number: number, anyway?: string): string | null => {
    const bytes = recorder?.bytes();
    const cell = journal.state().cells[number - 1]!;
    if (!bytes || !gauge || !cell.holdEndedAt) return 'The gauge has not been heard yet.';
    const measured = measuredLive(bytes, {
      state: journal.state(),
      cell: number,
      format: gauge.format,
      place: gauge.source.place,
      raw: journal.store.putRaw(`cell-${number}.log`, bytes),
      fromSeconds: secondsBetween(cell.enteredAt!, cell.holdEndedAt),
      anyway: anyway !== undefined,
    });
    if (measured.kind === 'unsettled') {
      screen = {
        ...screen,
        notice: null,
        mode: {
          kind: 'asking',
          question: { kind: 'why unsettled', says: measured.says },
          draft: '',
        },
      };
      return null;
    }
    journal.record(measured.what, anyway);
    const { diameterSdMm: sd, fromSeconds, toSeconds } = measured.what.measured;
    return `SD ${sd.toFixed(4)} mm over ${((toSeconds - fromSeconds) / 60).toFixed(1)} min is kept.`;
  };

  const pressed = (key: Pressed): void => {
    const intent = walkIntent(screen, key);
    if (intent === null) return;
    const before = screen;
    const step = reduceWalk(screen, intent, facts());
    screen = step.screen;
    try {
      for (const deed of step.deeds) {
        const told = perform(deed);
        if (told !== null) tell(told);
      }
    } catch (error) {
      screen = { ...before, notice: explained(error, journal) };
    }
    inStep();
    keepQuietly();
  };
  const keepQuietly = (): void => {
    try {
      keepScreen(drafts, screen, journal.state().lastSeq);
    } catch (error) {
      tell(explained(error, journal));
    }
  };

  inStep(true);
  claim?.beat(journal.signer(), startedMs);
  const resumed = resumedNotice(journal.state(), facts());
  if (resumed !== null && screen.mode.kind === 'cell') tell(resumed);

  return {
    screen: () => screen,
    facts,
    press: pressed,
    tickMs: TICK_MS,
    tick() {
      const { now, jump } = clock.look();
      if (jump) {
        const holding = inWork(journal.state());
        recordQuietly({
          kind: 'clock jumped',
          cell: holding?.cell ?? null,
          bySeconds: Math.round(jump.bySeconds),
        });
        tell(jumpNotice(jump.bySeconds));
      }
      if (now - flushedMs >= FLUSH_MS) {
        flushedMs = now;
        recorder?.flush();
      }
      if (claim && Date.now() - beatMs >= BEAT_MS) {
        beatMs = Date.now();
        try {
          claim.beat(journal.signer(), now);
        } catch (error) {
          tell(explained(error, journal));
        }
      }
      // What was told has been read; what was true then may not be now.
      if (screen.notice !== told.notice) told = { notice: screen.notice, atMs: ticking() };
      else if (told.notice !== null && ticking() - told.atMs > NOTICE_MS)
        screen = { ...screen, notice: null };
      const all = facts();
      const isHolding = all.briefing?.cell.status === 'holding';
      if (isHolding && all.live?.lights?.isSettled) settledMs = now;
      if (!hasRung && isHolding && holdState(all).isOver) {
        hasRung = true;
        bell?.();
      }
    },
    async close() {
      await recorder?.stop();
      keepQuietly();
      claim?.release();
    },
  };
}

function costOf<T extends { readonly key: string } | null>(
  study: StudyState,
  { cell }: Briefing,
  before: T,
): NonNullable<T> | { key: string; loss: CellLoss; nearer: PlannedRun | null } {
  const key = `${study.lastSeq} ${cell.cell}`;
  if (before?.key === key) return before;
  return { key, loss: cellLoss(study, cell.cell), nearer: replacementRun(study, cell.cell) };
}

const merged = (before: TrainerLook | null, now: TrainerLook): TrainerLook => ({
  bubbles: (before?.bubbles ?? 0) + now.bubbles,
  metres: (before?.metres ?? 0) + now.metres,
  failure: now.failure ?? before?.failure ?? null,
});

/** An entry in a few words, for undo and redo. */
export function inWords(what: Happening): string {
  return 'cell' in what && what.cell !== null ? `${what.kind}, cell ${what.cell}` : what.kind;
}

function explained(error: unknown, journal: Journal): string {
  if ((error as Error).name === 'StaleStudyError') journal.refresh();
  return (error as Error).message;
}

const jumpNotice = (bySeconds: number): string =>
  bySeconds < 0
    ? `This computer's clock was set back by ${duration(-bySeconds)}. Times here run on from where they were.`
    : `${duration(bySeconds)} passed unwatched: the computer slept, or its clock was set ahead. That time is not counted as held. Look at the line: is the screw still turning?`;

function resumedNotice(study: StudyState, all: WalkFacts): string | null {
  const cell = inWork(study);
  if (!cell) return null;
  const ago = duration(Math.max(0, (all.nowMs - Date.parse(study.lastAt)) / 1000));
  return cell.status === 'holding'
    ? `Resumed at cell ${cell.cell}, in its hold. The last entry is ${ago} old.`
    : `Resumed at cell ${cell.cell}, being measured. The last entry is ${ago} old.`;
}
