import { refusals } from '@strandwise/core';
import { typedNumber } from './gate.ts';
import { holdEnded } from './hold.ts';
import { safeStop } from './safety.ts';
import {
  act,
  ask,
  edited,
  recorded,
  setPointsNow,
  show,
  stay,
  type WalkFacts,
  type WalkIntent,
  type WalkMode,
  type WalkQuestion,
  type WalkScreen,
  type WalkStep,
} from './screen.ts';
import { settingAt, withSetting } from './set-point.ts';

type Asking = Extract<WalkMode, { kind: 'asking' }>;

/** One intent while a line of text is asked for. */
export function reduceAsking(
  screen: WalkScreen,
  mode: Asking,
  intent: WalkIntent,
  facts: WalkFacts,
): WalkStep {
  switch (intent.kind) {
    case 'typed':
    case 'erased':
      return show(screen, edited(mode, intent));
    case 'back':
      return act(screen, []);
    case 'leave':
      return { screen: { ...screen, notice: null, isLeaving: true }, deeds: [] };
    case 'go on':
      return answered(screen, mode.question, mode.draft.trim(), facts);
    default:
      return stay(screen);
  }
}

const needsWhy = 'Say why in a few words; it stands in the record.';

function answered(
  screen: WalkScreen,
  question: WalkQuestion,
  text: string,
  facts: WalkFacts,
): WalkStep {
  const cell = facts.briefing?.cell.cell ?? null;
  switch (question.kind) {
    case 'note':
      if (text === '') return act(screen, []);
      return act(screen, [recorded({ kind: 'note written', cell, text })], 'Noted.');
    case 'why early':
      return text === ''
        ? stay(screen, needsWhy)
        : act(screen, [holdEnded(cell!, 'early', facts, text)]);
    case 'why longer':
      return text === ''
        ? stay(screen, needsWhy)
        : act(screen, [holdEnded(cell!, 'longer', facts, text)]);
    case 'why cut short':
    case 'why unsettled':
      return text === ''
        ? stay(screen, needsWhy)
        : act(screen, [{ kind: 'keep live log', cell: cell!, anyway: text }]);
    case 'log file':
      return text === ''
        ? act(screen, [])
        : act(screen, [{ kind: 'read log', path: text, cell: cell! }]);
    case 'metres':
      return metresAnswered(screen, question.count, text, cell!);
    case 'why failed':
      return ask(screen, { kind: 'evidence', direction: question.direction, why: text });
    case 'evidence':
      return show(screen, {
        kind: 'failed then',
        direction: question.direction,
        why: question.why,
        evidence: text,
      });
    case 'why left out':
      return text === ''
        ? stay(screen, needsWhy)
        : act({ ...screen, edits: null }, [recorded({ kind: 'cell left out', cell: cell! }, text)]);
    case 'set point':
      return setPointAnswered(screen, question.at, text, facts);
    case 'value':
      return valueAnswered(screen, question.response, text, cell!);
    case 'recounted by':
    case 'recount':
      return recountAnswered(screen, question, text, facts);
    case 'who takes over':
      return text === ''
        ? act(screen, [])
        : ask(screen, { kind: 'word to the next', to: text.slice(0, 60) });
    case 'word to the next':
      return act(
        screen,
        [
          recorded({ kind: 'handed over', to: question.to }, text),
          { kind: 'sign as', who: question.to },
        ],
        `${question.to} walks from here. i shows what has been noted.`,
      );
    case 'barrel leaves with':
      return shutDownAnswered(screen, text, facts);
  }
}

function metresAnswered(screen: WalkScreen, count: number, text: string, cell: number): WalkStep {
  const metres = typedNumber(text);
  if (!(metres > 0) || !Number.isFinite(metres)) {
    return stay(screen, `Metres must be a number above 0; got "${text}".`);
  }
  return act({ ...screen, tally: 0 }, [recorded({ kind: 'bubbles counted', cell, count, metres })]);
}

function setPointAnswered(
  screen: WalkScreen,
  at: number,
  text: string,
  facts: WalkFacts,
): WalkStep {
  const before = setPointsNow(screen, facts)!;
  const setPoints = withSetting(before, at, text);
  const { name, unit } = settingAt(before, at);
  if (!setPoints) return stay(screen, `${name} must be a number in ${unit}; got "${text}".`);
  const { line, grade, product } = facts.study.opened;
  const refused = refusals(setPoints, line, grade, product)[0];
  if (refused) return stay(screen, `${refused.says} Enter what the controller truly shows.`);
  return {
    ...act(screen, []),
    screen: {
      ...screen,
      mode: { kind: 'cell' },
      edits: { cell: facts.briefing!.cell.cell, setPoints },
      notice: `${name} is ${text} ${unit} instead of ${settingAt(before, at).value}. It is analysed as entered.`,
    },
  };
}

function valueAnswered(screen: WalkScreen, response: string, text: string, cell: number): WalkStep {
  const value = typedNumber(text);
  if (!Number.isFinite(value)) return stay(screen, `${response} must be a number; got "${text}".`);
  return act(
    screen,
    [recorded({ kind: 'value entered', cell, response, value })],
    `${response}: ${value}.`,
  );
}

function recountAnswered(
  screen: WalkScreen,
  question: Extract<WalkQuestion, { kind: 'recounted by' | 'recount' }>,
  text: string,
  { study }: WalkFacts,
): WalkStep {
  if (question.kind === 'recounted by') {
    if (text === '') return act(screen, []);
    return ask(screen, { kind: 'recount', cell: question.cell, by: text.slice(0, 60) });
  }
  const count = typedNumber(text);
  if (!Number.isInteger(count) || count < 0)
    return stay(screen, `Bubbles must be a whole number; got "${text}".`);
  const cell = study.cells[question.cell - 1]!;
  const first = cell.readings.bubbles!;
  return act(
    screen,
    [
      recorded({
        kind: 'bubbles recounted',
        cell: cell.cell,
        count,
        metres: first.metres,
        of: cell.status === 'measuring' ? 'strand' : 'stored sample',
        by: question.by,
      }),
    ],
    agreement(first.count, count),
  );
}

/**
 * Two counts of one strand differ by what one of the two missed; that is far less than the chance of
 * bubbles itself, so the root of the larger is a generous limit.
 */
export function agreement(first: number, second: number): string {
  const isFar = Math.abs(first - second) > Math.max(1, Math.sqrt(Math.max(first, second)));
  return isFar
    ? `First ${first}, second ${second}: too far apart. Look at the strand together, then count again.`
    : `First ${first}, second ${second}: they agree.`;
}

function shutDownAnswered(screen: WalkScreen, text: string, { study }: WalkFacts): WalkStep {
  if (text === '') return stay(screen, 'Say what stays in the barrel; the next user needs it.');
  const { steps } = safeStop(study);
  return act(
    screen,
    [recorded({ kind: 'shut down', barrelHolds: text, steps: [...steps] })],
    `Shut down is recorded; the barrel holds ${text}. Everything is asked again before the next heating.`,
  );
}
