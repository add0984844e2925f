import type { Uniform } from '@strandwise/core';
import { gates } from '../../../packages/cli/src/screen/walk/gate.ts';
import { holdState } from '../../../packages/cli/src/screen/walk/hold.ts';
import type { WalkFacts, WalkMode } from '../../../packages/cli/src/screen/walk/screen.ts';
import type { WalkSession } from '../../../packages/cli/src/screen/walk/session.ts';

/**
 * An operator who walks a study by pressing keys, as `pressAll` names them: mostly the one thing that
 * comes next, now and then a note, an undo, a failed cell, a second count or a hand-over.
 *
 * @returns the keys to press now; empty while there is only waiting to do
 */
export function nextKeys(session: WalkSession, uniform: Uniform): string {
  const { mode } = session.screen();
  const facts = session.facts();
  switch (mode.kind) {
    case 'gate':
      return gateKeys(mode, facts);
    case 'asking':
      return askingKeys(mode, uniform);
    case 'failed how':
      return 'o';
    case 'failed then':
      // What fails again and again is left out, or the walk would never end.
      if ((facts.briefing?.cell.failures.length ?? 0) > 0) return 'o';
      return uniform() < 0.7 ? 'a' : 'l';
    case 'cell':
      return cellKeys(session, facts, uniform);
    default:
      return 'esc';
  }
}

function gateKeys(
  { answers, at, draft }: Extract<WalkMode, { kind: 'gate' }>,
  { study }: WalkFacts,
): string {
  const gate = gates(study, answers)[at];
  if (gate?.kind !== 'tell') return gate?.kind === 'sure' ? 'y' : 'esc';
  if (draft !== '') return 'enter';
  return { barrel: '"clean"', dried: '"4"', since: '"0"', 'wet why': '"training"' }[gate.key];
}

/** Answers are typed a few letters at a time, so that a walk can be cut off in the middle of one. */
function askingKeys(
  { question, draft }: Extract<WalkMode, { kind: 'asking' }>,
  uniform: Uniform,
): string {
  const wanted =
    question.kind === 'metres' && draft === ''
      ? '5.5'
      : question.kind === 'recount'
        ? '2'
        : { note: 'draught from the door', 'who takes over': 'Sam', 'recounted by': 'Kim' }[
            question.kind as 'note'
          ];
  if (wanted === undefined) return draft === '' ? '"as it is"' : 'enter';
  if (draft.length >= wanted.length || !wanted.startsWith(draft)) return 'enter';
  const letters = 1 + Math.floor(uniform() * 6);
  return `"${wanted.slice(draft.length, draft.length + letters)}"`;
}

function cellKeys(session: WalkSession, facts: WalkFacts, uniform: Uniform): string {
  const { briefing, live } = facts;
  if (!briefing) return '';
  const chance = uniform();
  if (chance < 0.002) return 'n';
  if (chance < 0.0025) return 'w';
  switch (briefing.cell.status) {
    case 'waiting':
      return chance < 0.05 ? 'x' : chance < 0.08 ? 'p l' : 'enter';
    case 'holding':
      if (live?.trouble !== null && live?.trouble !== undefined) return 'x';
      return holdState(facts).isOver ? 'enter' : chance < 0.003 ? 'u' : '';
    default:
      return measuringKeys(session, facts, chance);
  }
}

function measuringKeys(
  session: WalkSession,
  { briefing, live }: WalkFacts,
  chance: number,
): string {
  const { readings } = briefing!.cell;
  if (readings.log === null) {
    if (live?.trouble !== null && live?.trouble !== undefined) return 'x';
    const window = live?.window;
    if (!window || window.seconds < window.neededSeconds)
      return chance < 0.1 ? 'space' : chance < 0.11 && session.screen().tally > 0 ? 'back' : '';
    return 'enter';
  }
  return readings.bubbles !== null && chance < 0.1 ? 'b' : 'enter';
}
