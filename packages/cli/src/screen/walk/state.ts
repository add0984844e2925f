import type { Briefing, FailureDirection, Happening, StudyState } from '@strandwise/core';

/** What the walk is asking the operator just now, if anything. */
export type WalkQuestion =
  | { readonly kind: 'log file' }
  | { readonly kind: 'metres'; readonly count: number }
  | { readonly kind: 'note' }
  | { readonly kind: 'why early' }
  | { readonly kind: 'barrel' }
  | { readonly kind: 'dried'; readonly barrelHolds: string };

/** The operator's screen apart from the study itself: which question is open, what is half typed. */
export interface WalkScreen {
  readonly mode:
    | { readonly kind: 'cell' }
    | { readonly kind: 'asking'; readonly question: WalkQuestion; readonly draft: string }
    | { readonly kind: 'failed how' }
    | { readonly kind: 'failed then'; readonly direction: FailureDirection }
    | { readonly kind: 'stopping' }
    | { readonly kind: 'keys' };
  /** Bubbles tallied and not yet recorded. */
  readonly tally: number;
  readonly notice: string | null;
  readonly isLeaving: boolean;
}

export const openingScreen: WalkScreen = {
  mode: { kind: 'cell' },
  tally: 0,
  notice: null,
  isLeaving: false,
};

/** What the operator does, freed from keys. */
export type WalkIntent =
  | { readonly kind: 'go on' }
  | { readonly kind: 'early' }
  | { readonly kind: 'fail' }
  | { readonly kind: 'direction'; readonly direction: FailureDirection }
  | { readonly kind: 'then'; readonly next: 'again' | 'later' | 'leave out' }
  | { readonly kind: 'postpone' }
  | { readonly kind: 'note' }
  | { readonly kind: 'attach' }
  | { readonly kind: 'tally'; readonly by: 1 | -1 }
  | { readonly kind: 'undo' }
  | { readonly kind: 'reopen' }
  | { readonly kind: 'stop' }
  | { readonly kind: 'keys' }
  | { readonly kind: 'leave' }
  | { readonly kind: 'back' }
  | { readonly kind: 'typed'; readonly text: string }
  | { readonly kind: 'erased' };

/** What is true at this moment, beside the screen. */
export interface WalkFacts {
  readonly study: StudyState;
  readonly briefing: Briefing | null;
  readonly nowMs: number;
  readonly metresSuggested: number | null;
}

/** What the reducer asks the outside to do; the screen changes only once it is done. */
export type WalkDeed =
  | { readonly kind: 'record'; readonly what: Happening; readonly why?: string }
  | { readonly kind: 'undo' }
  | { readonly kind: 'read log'; readonly path: string; readonly cell: number };

export interface WalkStep {
  readonly screen: WalkScreen;
  readonly deeds: readonly WalkDeed[];
}

const stay = (screen: WalkScreen, notice: string | null = null): WalkStep => ({
  screen: { ...screen, notice },
  deeds: [],
});
const ask = (screen: WalkScreen, question: WalkQuestion, draft = ''): WalkStep => ({
  screen: { ...screen, notice: null, mode: { kind: 'asking', question, draft } },
  deeds: [],
});
const act = (
  screen: WalkScreen,
  deeds: readonly WalkDeed[],
  notice: string | null = null,
): WalkStep => ({
  screen: { ...screen, notice, mode: { kind: 'cell' } },
  deeds,
});
const recorded = (what: Happening, why?: string): WalkDeed =>
  why === undefined ? { kind: 'record', what } : { kind: 'record', what, why };

/** One intent. A wrong one changes nothing but the notice. */
export function reduceWalk(screen: WalkScreen, intent: WalkIntent, facts: WalkFacts): WalkStep {
  switch (screen.mode.kind) {
    case 'asking':
      return reduceAsking(screen, screen.mode, intent, facts);
    case 'failed how':
      if (intent.kind === 'direction') {
        return {
          screen: {
            ...screen,
            notice: null,
            mode: { kind: 'failed then', direction: intent.direction },
          },
          deeds: [],
        };
      }
      return intent.kind === 'back' ? act(screen, []) : stay(screen);
    case 'failed then':
      return reduceFailedThen(screen, screen.mode.direction, intent, facts);
    case 'stopping':
    case 'keys':
      if (intent.kind === 'leave') return { screen: { ...screen, isLeaving: true }, deeds: [] };
      return act(screen, []);
    case 'cell':
      return reduceCell(screen, intent, facts);
  }
}

function reduceCell(screen: WalkScreen, intent: WalkIntent, facts: WalkFacts): WalkStep {
  switch (intent.kind) {
    case 'go on':
      return goOn(screen, facts);
    case 'early':
      return facts.briefing?.cell.status === 'holding'
        ? ask(screen, { kind: 'why early' })
        : stay(screen, 'No hold is running.');
    case 'fail':
      return facts.briefing
        ? { screen: { ...screen, notice: null, mode: { kind: 'failed how' } }, deeds: [] }
        : stay(screen, 'No cell is waiting.');
    case 'postpone':
      return facts.briefing?.cell.status === 'waiting'
        ? act(screen, [recorded({ kind: 'cell postponed', cell: facts.briefing.cell.cell })])
        : stay(
            screen,
            'Only a cell that is not started can be moved to the end. Undo, or mark it failed.',
          );
    case 'note':
      return ask(screen, { kind: 'note' });
    case 'attach':
      return facts.briefing?.cell.status === 'measuring'
        ? ask(screen, { kind: 'log file' })
        : stay(screen, 'A log is attached once the hold has ended.');
    case 'tally':
      return tallied(screen, intent.by, facts);
    case 'undo':
      return facts.study.undoable.length > 0
        ? act({ ...screen, tally: 0 }, [{ kind: 'undo' }])
        : stay(screen, 'There is nothing to undo.');
    case 'reopen':
      return reopened(screen, facts);
    case 'stop':
      return { screen: { ...screen, notice: null, mode: { kind: 'stopping' } }, deeds: [] };
    case 'keys':
      return { screen: { ...screen, notice: null, mode: { kind: 'keys' } }, deeds: [] };
    case 'leave':
      return { screen: { ...screen, isLeaving: true }, deeds: [] };
    default:
      return stay(screen, screen.notice);
  }
}

function goOn(screen: WalkScreen, facts: WalkFacts): WalkStep {
  const { briefing, study } = facts;
  if (study.checks === null) return ask(screen, { kind: 'barrel' });
  if (!briefing) return stay(screen, 'The walk is over.');
  const { cell, hold, refusals } = briefing;
  if (cell.status === 'waiting') {
    if (refusals[0]) return stay(screen, `${refusals[0].says} Press x, then "leave out".`);
    return act(screen, [
      recorded({
        kind: 'settings entered',
        cell: cell.cell,
        setPoints: cell.run.setPoints!,
        holdSeconds: Math.round(hold.seconds),
      }),
    ]);
  }
  if (cell.status === 'holding') {
    const held = heldSeconds(facts);
    const wanted = cell.holdSeconds ?? 0;
    if (held < wanted)
      return stay(screen, 'The hold is not over. Press m to measure early and say why.');
    const how = held > wanted + 300 ? 'longer' : 'full';
    return act(screen, [
      recorded({ kind: 'hold ended', cell: cell.cell, how, heldSeconds: Math.round(held) }),
    ]);
  }
  return finish(screen, facts);
}

function finish(screen: WalkScreen, facts: WalkFacts): WalkStep {
  const { cell } = facts.briefing!;
  const { readings } = cell;
  if (screen.tally > 0 || (readings.bubbles === null && readings.log !== null)) {
    return ask(screen, { kind: 'metres', count: screen.tally }, suggestedMetres(facts));
  }
  if (readings.log === null && readings.bubbles === null) {
    return stay(
      screen,
      'Nothing is measured yet: l attaches the log, space counts bubbles, x marks the cell failed.',
    );
  }
  return act(screen, [recorded({ kind: 'cell finished', cell: cell.cell })]);
}

const suggestedMetres = ({ briefing, metresSuggested }: WalkFacts): string => {
  const metres = briefing?.cell.readings.measured?.strandMetres ?? metresSuggested;
  return metres === null || metres === undefined ? '' : metres.toFixed(1);
};

function tallied(screen: WalkScreen, by: 1 | -1, facts: WalkFacts): WalkStep {
  if (facts.briefing?.cell.status !== 'measuring') {
    return stay(screen, 'Bubbles are counted while measuring.');
  }
  return { screen: { ...screen, notice: null, tally: Math.max(0, screen.tally + by) }, deeds: [] };
}

function reopened(screen: WalkScreen, { study }: WalkFacts): WalkStep {
  const last = [...study.cells]
    .filter(({ status }) => status === 'done' || status === 'failed')
    .sort((a, b) => (a.finishedAt! < b.finishedAt! ? 1 : -1))[0];
  if (!last) return stay(screen, 'No cell is done yet.');
  return act(
    screen,
    [recorded({ kind: 'cell reopened', cell: last.cell })],
    `Cell ${last.cell} is to be done again.`,
  );
}

function reduceFailedThen(
  screen: WalkScreen,
  direction: FailureDirection,
  intent: WalkIntent,
  { briefing }: WalkFacts,
): WalkStep {
  if (intent.kind === 'back') return act(screen, []);
  if (intent.kind !== 'then' || !briefing) return stay(screen);
  const { cell } = briefing.cell;
  return act({ ...screen, tally: 0 }, [
    recorded({ kind: 'cell failed', cell, direction, next: intent.next }),
  ]);
}

type Asking = Extract<WalkScreen['mode'], { kind: 'asking' }>;

function reduceAsking(
  screen: WalkScreen,
  mode: Asking,
  intent: WalkIntent,
  facts: WalkFacts,
): WalkStep {
  switch (intent.kind) {
    case 'typed':
      return ask(screen, mode.question, mode.draft + intent.text);
    case 'erased':
      return ask(screen, mode.question, [...mode.draft].slice(0, -1).join(''));
    case 'back':
      return act(screen, []);
    case 'go on':
      return answered(screen, mode, facts);
    default:
      return stay(screen);
  }
}

function answered(screen: WalkScreen, { question, draft }: Asking, facts: WalkFacts): WalkStep {
  const text = draft.trim();
  const cell = facts.briefing?.cell.cell ?? null;
  switch (question.kind) {
    case 'note':
      return text === ''
        ? act(screen, [])
        : act(screen, [recorded({ kind: 'note written', cell, text })], 'Noted.');
    case 'why early':
      if (text === '') return stay(screen, 'Say why in a few words; it stands in the record.');
      return act(screen, [
        recorded(
          {
            kind: 'hold ended',
            cell: cell!,
            how: 'early',
            heldSeconds: Math.round(heldSeconds(facts)),
          },
          text,
        ),
      ]);
    case 'log file':
      return text === ''
        ? act(screen, [])
        : {
            screen: { ...screen, notice: 'Reading the log…' },
            deeds: [{ kind: 'read log', path: text, cell: cell! }],
          };
    case 'metres':
      return metresAnswered(screen, question.count, text, cell!);
    case 'barrel':
      if (text === '')
        return stay(screen, 'Say what the barrel holds now; "clean" if it is empty.');
      return ask(screen, { kind: 'dried', barrelHolds: text });
    case 'dried':
      return driedAnswered(screen, question.barrelHolds, text);
  }
}

function metresAnswered(screen: WalkScreen, count: number, text: string, cell: number): WalkStep {
  const metres = Number(text.replace(',', '.'));
  if (text === '' || !(metres > 0) || !Number.isFinite(metres)) {
    return stay(screen, `Metres must be a number above 0; got "${text}".`);
  }
  return act({ ...screen, tally: 0 }, [recorded({ kind: 'bubbles counted', cell, count, metres })]);
}

function driedAnswered(screen: WalkScreen, barrelHolds: string, text: string): WalkStep {
  const hours = text === '' ? null : Number(text.replace(',', '.'));
  if (hours !== null && !(hours >= 0))
    return stay(screen, `Hours must be a number; got "${text}". Leave it empty if not dried.`);
  return act(screen, [
    recorded({
      kind: 'checks confirmed',
      items: [
        'safety data sheet seen',
        'extraction on',
        'guards on',
        'emergency stop within reach',
        'nozzle clear',
      ],
      barrelHolds,
      driedHours: hours,
      hoursSinceDrying: hours === null ? null : 0,
    }),
  ]);
}

/** Seconds since the settings of the present cell were entered. */
export function heldSeconds({ briefing, nowMs }: Pick<WalkFacts, 'briefing' | 'nowMs'>): number {
  const since = briefing?.cell.enteredAt;
  return since ? Math.max(0, (nowMs - Date.parse(since)) / 1000) : 0;
}
