import type { Happening, StudyState } from '@strandwise/core';
import { type Gate, gateFacts, gates, isNotDried, typedNumber } from './gate.ts';
import {
  act,
  edited,
  recorded,
  show,
  stay,
  type WalkFacts,
  type WalkIntent,
  type WalkMode,
  type WalkScreen,
  type WalkStep,
} from './screen.ts';

type GateMode = Extract<WalkMode, { kind: 'gate' }>;

/** The checklist from its first gate. */
export function firstGate(study: StudyState): GateMode {
  return gateAt(study, []);
}

function gateAt(study: StudyState, answers: readonly string[]): GateMode {
  const gate = gates(study, answers)[answers.length];
  const draft = gate?.kind === 'tell' ? gate.suggestion : '';
  return { kind: 'gate', at: answers.length, answers, draft, isOffered: draft !== '' };
}

/** One intent at the checklist: yes and no for what one is sure of, words for what one tells. */
export function reduceGate(
  screen: WalkScreen,
  mode: GateMode,
  pressed: WalkIntent,
  facts: WalkFacts,
): WalkStep {
  const { study } = facts;
  const gate = gates(study, mode.answers)[mode.at];
  const intent = gate?.kind === 'tell' ? pressed : letterIntent(pressed);
  if (!gate) return finished(screen, mode, study);
  if (intent.kind === 'back') return backwards(screen, mode, study);
  if (intent.kind === 'leave') return { screen: { ...screen, isLeaving: true }, deeds: [] };
  if (gate.kind === 'refused')
    return stay(screen, 'Nothing may be heated. esc goes back to correct what was said; q leaves.');
  if (gate.kind === 'sure') {
    if (intent.kind === 'yes') return answered(screen, mode, 'yes', study);
    if (intent.kind === 'no') return stay(screen, gate.otherwise);
    return stay(screen, 'y when it is so, n when it is not.');
  }
  if (intent.kind === 'typed' || intent.kind === 'erased')
    return show(screen, edited(mode, intent));
  if (intent.kind !== 'go on') return stay(screen);
  const wrong = wrongAnswer(gate, mode.draft.trim());
  return wrong === null ? answered(screen, mode, mode.draft.trim(), study) : stay(screen, wrong);
}

const letters: Readonly<Record<string, WalkIntent>> = {
  y: { kind: 'yes' },
  n: { kind: 'no' },
  q: { kind: 'leave' },
};
const letterIntent = (pressed: WalkIntent): WalkIntent =>
  pressed.kind === 'typed' ? (letters[pressed.text] ?? pressed) : pressed;

function answered(
  screen: WalkScreen,
  { answers }: GateMode,
  answer: string,
  study: StudyState,
): WalkStep {
  const mode = gateAt(study, [...answers, answer]);
  const isOpen = gates(study, mode.answers)[mode.at] !== undefined;
  return isOpen ? show(screen, mode) : finished(screen, mode, study);
}

function backwards(screen: WalkScreen, { answers }: GateMode, study: StudyState): WalkStep {
  if (answers.length === 0) return stay(screen, 'This is the first. q leaves.');
  const before = answers.slice(0, -1);
  const mode = gateAt(study, before);
  const gate = gates(study, before)[before.length];
  return show(screen, gate?.kind === 'tell' ? { ...mode, draft: answers.at(-1)! } : mode);
}

function wrongAnswer(gate: Extract<Gate, { kind: 'tell' }>, text: string): string | null {
  switch (gate.key) {
    case 'barrel':
      return text === '' ? 'Say what the barrel holds now; "clean" if it is empty.' : null;
    case 'dried':
      return isNotDried(text) || (typedNumber(text) >= 0 && Number.isFinite(typedNumber(text)))
        ? null
        : `Hours must be a number, or "no"; got "${text}".`;
    case 'since':
      return typedNumber(text) >= 0 && Number.isFinite(typedNumber(text))
        ? null
        : `Hours must be a number, 0 or more; got "${text}".`;
    case 'wet why':
      return text === '' ? 'Say why in a few words, or dry the pellets first.' : null;
  }
}

function finished(screen: WalkScreen, { answers }: GateMode, study: StudyState): WalkStep {
  const all = gates(study, answers);
  const { barrel, driedHours, sinceHours } = gateFacts(answers);
  const isChangeover = (gate: Gate): boolean => gate.name.startsWith('changeover');
  const changeover = all.flatMap((gate) =>
    gate.kind === 'sure' && isChangeover(gate) ? [gate.asks] : [],
  );
  const wet = all.findIndex((gate) => gate.kind === 'tell' && gate.key === 'wet why');
  const what: Happening = {
    kind: 'checks confirmed',
    items: all.flatMap((gate) => (gate.kind === 'sure' && !isChangeover(gate) ? [gate.name] : [])),
    barrelHolds: changeover.length > 0 ? study.opened.grade.name : barrel!,
    driedHours,
    hoursSinceDrying: sinceHours,
    ...(changeover.length > 0 ? { changeover } : {}),
  };
  return act(screen, [recorded(what, wet < 0 ? undefined : answers[wet])]);
}
