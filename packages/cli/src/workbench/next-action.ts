import { currentCell, type Stage, type StudyState, stageOf } from '@strandwise/core';
import { plannedSetUps } from '../release/study-recipe.ts';

/** The one thing that a study waits for: what, and the command that does it. */
export interface NextAction {
  readonly stage: Stage;
  readonly says: string;
  /** Verb and options; the study's file comes after the verb. Null when nothing is left to do. */
  readonly command: readonly string[] | null;
}

/** The next action of a study, from what has happened to it. */
export function nextAction(state: StudyState): NextAction {
  const stage = stageOf(state);
  switch (stage) {
    case 'grade':
      return { stage, says: 'look over the grade and the line', command: ['show'] };
    case 'scout':
      return { stage, says: 'finish scouting', command: ['scout'] };
    case 'plan':
      return {
        stage,
        says: state.isScouted ? 'choose a plan' : 'choose a plan, or scout the window first',
        command: ['plan', '--compare'],
      };
    case 'walk':
      return { stage, says: walkWords(state), command: ['walk'] };
    case 'fit':
      return {
        stage,
        says: 'read what matters and propose a recipe',
        command: ['fit', '--propose'],
      };
    case 'confirm':
      return confirmAction(state);
    case 'release':
      return state.released
        ? {
            stage,
            says: `recipe ${state.released.version} is released; shut the line down`,
            command: ['shutdown'],
          }
        : releaseAction(state);
    case 'shutdown':
      return { stage, says: 'the line is shut down; the record is complete', command: null };
  }
}

function walkWords(state: StudyState): string {
  const cell = currentCell(state);
  const done = state.cells.length - state.queue.length;
  return `walk cell ${cell?.cell ?? ''} (${done} of ${state.cells.length} ended)`;
}

function confirmAction(state: StudyState): NextAction {
  if (currentCell(state)) return { stage: 'confirm', says: walkWords(state), command: ['walk'] };
  return {
    stage: 'confirm',
    says: 'plan fresh set-ups at the proposed recipe',
    command: ['confirm'],
  };
}

/** Cells confirmed an earlier recipe say nothing of the one proposed now. */
function releaseAction(state: StudyState): NextAction {
  return plannedSetUps(state) === 0
    ? confirmAction(state)
    : {
        stage: 'release',
        says: 'judge the confirmation, then release the recipe',
        command: ['confirm'],
      };
}
