import type {
  Briefing,
  CellLoss,
  FailureDirection,
  Happening,
  PlannedRun,
  SetPoints,
  StudyState,
} from '@strandwise/core';
import type { LiveView } from '../../reading/live-recorder.ts';
import type { TrainerLook } from '../../reading/trainer.ts';
import type { GateAnswers } from './gate.ts';

/** What the walk is asking the operator just now, if anything: one line of text answers it. */
export type WalkQuestion =
  | { readonly kind: 'log file' }
  | { readonly kind: 'metres'; readonly count: number }
  | { readonly kind: 'note' }
  | { readonly kind: 'why early' }
  | { readonly kind: 'why longer' }
  | { readonly kind: 'why cut short' }
  | { readonly kind: 'why unsettled'; readonly says: string }
  | { readonly kind: 'why failed'; readonly direction: FailureDirection }
  | { readonly kind: 'evidence'; readonly direction: FailureDirection; readonly why: string }
  | { readonly kind: 'why left out' }
  | { readonly kind: 'set point'; readonly at: number }
  | { readonly kind: 'value'; readonly response: string }
  | { readonly kind: 'recounted by'; readonly cell: number }
  | { readonly kind: 'recount'; readonly cell: number; readonly by: string }
  | { readonly kind: 'who takes over' }
  | { readonly kind: 'word to the next'; readonly to: string }
  | { readonly kind: 'barrel leaves with'; readonly leaves: string };

export type WalkMode =
  | { readonly kind: 'cell' }
  | {
      readonly kind: 'asking';
      readonly question: WalkQuestion;
      readonly draft: string;
      /** The draft is a suggestion that nobody has touched: typing takes its place. */
      readonly isOffered?: boolean;
    }
  | {
      readonly kind: 'gate';
      readonly at: number;
      readonly answers: GateAnswers;
      readonly draft: string;
      readonly isOffered?: boolean;
    }
  | { readonly kind: 'failed how' }
  | {
      readonly kind: 'failed then';
      readonly direction: FailureDirection;
      readonly why: string;
      readonly evidence: string;
    }
  | { readonly kind: 'skipping' }
  | { readonly kind: 'choosing'; readonly what: 'set point' | 'value' }
  /** Step by step; `at` counts the steps that are done. */
  | { readonly kind: 'stopping'; readonly at: number }
  | { readonly kind: 'holds' }
  | { readonly kind: 'record' }
  | { readonly kind: 'keys' };

/** Set points keyed in that differ from the plan, before they are entered. */
export interface SetPointEdits {
  readonly cell: number;
  readonly setPoints: SetPoints;
}

/** The operator's screen apart from the study itself: which question is open, what is half typed. */
export interface WalkScreen {
  readonly mode: WalkMode;
  /** Bubbles tallied and not yet recorded. */
  readonly tally: number;
  readonly edits: SetPointEdits | null;
  readonly notice: string | null;
  readonly isLeaving: boolean;
}

export const openingScreen: WalkScreen = {
  mode: { kind: 'cell' },
  tally: 0,
  edits: null,
  notice: null,
  isLeaving: false,
};

/** What the operator does, freed from keys. */
export type WalkIntent =
  | { readonly kind: 'go on' }
  | { readonly kind: 'early' }
  | { readonly kind: 'fail' }
  | { readonly kind: 'direction'; readonly direction: FailureDirection }
  | { readonly kind: 'then'; readonly next: 'again' | 'later' | 'nearer' | 'leave out' }
  | { readonly kind: 'skip' }
  | { readonly kind: 'change set point' }
  | { readonly kind: 'enter value' }
  | { readonly kind: 'choose'; readonly at: number }
  | { readonly kind: 'note' }
  | { readonly kind: 'attach' }
  | { readonly kind: 'tally'; readonly by: 1 | -1 }
  | { readonly kind: 'recount' }
  | { readonly kind: 'undo' }
  | { readonly kind: 'redo' }
  | { readonly kind: 'reopen' }
  | { readonly kind: 'hand over' }
  | { readonly kind: 'holds' }
  | { readonly kind: 'record' }
  | { readonly kind: 'stop' }
  | { readonly kind: 'keys' }
  | { readonly kind: 'yes' }
  | { readonly kind: 'no' }
  | { readonly kind: 'leave' }
  | { readonly kind: 'back' }
  | { readonly kind: 'typed'; readonly text: string }
  | { readonly kind: 'erased' };

/** A better hold for the cells to come, learned from the walk so far. */
export interface HoldOffer {
  readonly what: Extract<Happening, { kind: 'holds learned' }>;
  /** In a few words. */
  readonly title: string;
  readonly says: readonly string[];
}

/** What is true at this moment, beside the screen. */
export interface WalkFacts {
  readonly study: StudyState;
  readonly briefing: Briefing | null;
  readonly nowMs: number;
  /** True when everything has to be asked before heating, as at the start of a day. */
  readonly mustCheck: boolean;
  readonly live: LiveView | null;
  /** When all three lights were last on in this hold; null when they have not been. */
  readonly settledMs: number | null;
  readonly metresSuggested: number | null;
  /** Filled in while it is asked for: what losing the cell costs, what could take its place. */
  readonly loss: CellLoss | null;
  readonly nearer: PlannedRun | null;
  readonly offer: HoldOffer | null;
  readonly trainer: TrainerLook | null;
  readonly who: string;
  /** Someone who only looks. */
  readonly isWatching: boolean;
}

/** What the reducer asks the outside to do; the screen changes only once it is done. */
export type WalkDeed =
  | { readonly kind: 'record'; readonly what: Happening; readonly why?: string }
  | { readonly kind: 'undo' }
  | { readonly kind: 'redo' }
  | { readonly kind: 'read log'; readonly path: string; readonly cell: number }
  /** Keeps what the gauge has shown since the hold ended, and measures it. */
  | { readonly kind: 'keep live log'; readonly cell: number; readonly anyway?: string }
  | { readonly kind: 'sign as'; readonly who: string };

export interface WalkStep {
  readonly screen: WalkScreen;
  readonly deeds: readonly WalkDeed[];
}

/** The same screen with something to tell, or nothing. */
export const stay = (screen: WalkScreen, notice: string | null = null): WalkStep => ({
  screen: { ...screen, notice },
  deeds: [],
});

export const show = (screen: WalkScreen, mode: WalkMode): WalkStep => ({
  screen: { ...screen, notice: null, mode },
  deeds: [],
});

export const ask = (screen: WalkScreen, question: WalkQuestion, offered = ''): WalkStep =>
  show(screen, { kind: 'asking', question, draft: offered, isOffered: offered !== '' });

/** A line of text after one key: typing takes the place of a suggestion, erasing works on it. */
export function edited<M extends { readonly draft: string; readonly isOffered?: boolean }>(
  mode: M,
  intent: Extract<WalkIntent, { kind: 'typed' | 'erased' }>,
): M {
  const draft =
    intent.kind === 'erased'
      ? [...mode.draft].slice(0, -1).join('')
      : `${mode.isOffered ? '' : mode.draft}${intent.text}`;
  return { ...mode, draft, isOffered: false };
}

/** Back to the cell with something done. */
export const act = (
  screen: WalkScreen,
  deeds: readonly WalkDeed[],
  notice: string | null = null,
): WalkStep => ({ screen: { ...screen, notice, mode: { kind: 'cell' } }, deeds });

export const recorded = (what: Happening, why?: string): WalkDeed =>
  why === undefined || why === '' ? { kind: 'record', what } : { kind: 'record', what, why };

/** The set points to enter: the plan's, or what the operator says was keyed in instead. */
export function setPointsNow(
  { edits }: WalkScreen,
  { briefing }: Pick<WalkFacts, 'briefing'>,
): SetPoints | null {
  if (!briefing) return null;
  const planned = briefing.cell.entered ?? briefing.cell.run.setPoints;
  return edits?.cell === briefing.cell.cell ? edits.setPoints : planned;
}
