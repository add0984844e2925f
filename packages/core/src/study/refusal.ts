import type { Happening } from './event.ts';
import { isUndoable } from './fold.ts';
import { currentCell, type StudyState } from './state.ts';

/**
 * Why a happening may not be recorded now, in words for the person who tried; null when it may.
 * The store keeps whatever it is given: whoever writes asks here first.
 */
export function refusal(state: StudyState, what: Happening): string | null {
  switch (what.kind) {
    case 'study opened':
      return 'This study is open already. Make another with "strandwise new".';
    case 'plan adopted':
      return state.cells.some(({ status }) => status !== 'waiting')
        ? 'Cells of the present plan have been started. Extend the plan instead of replacing it.'
        : null;
    case 'plan extended':
      return state.plan === null
        ? 'There is no plan to extend. Make one with "strandwise plan".'
        : null;
    case 'entry undone':
      return undoRefusal(state, what.seq);
    case 'note written':
      return what.cell === null ? null : unknownCell(state, what.cell);
    case 'settings entered':
      return currentRefusal(state, what.cell, ['waiting', 'holding']);
    case 'hold ended':
      return currentRefusal(state, what.cell, ['holding']);
    case 'log attached':
    case 'value entered':
    case 'bubbles counted':
      return startedRefusal(state, what.cell);
    case 'cell finished':
      return finishRefusal(state, what.cell);
    case 'cell failed':
      return currentRefusal(state, what.cell, ['waiting', 'holding', 'measuring']);
    case 'cell postponed':
    case 'cell left out':
      return currentRefusal(state, what.cell, ['waiting']);
    case 'bubbles recounted':
      return recountRefusal(state, what.cell);
    case 'cell reopened':
      return reopenRefusal(state, what.cell);
    case 'recipe released':
      return state.recipe === null
        ? 'There is no proposed recipe to release. Fit the model first.'
        : null;
    default:
      return null;
  }
}

const unknownCell = (state: StudyState, cell: number): string | null =>
  cell <= state.cells.length
    ? null
    : `There is no cell ${cell}; the plan has ${state.cells.length}.`;

function currentRefusal(
  state: StudyState,
  number: number,
  allowed: readonly string[],
): string | null {
  const current = currentCell(state);
  if (!current) return 'No cell is waiting. The walk is over, or there is no plan yet.';
  if (current.cell !== number) return `Cell ${current.cell} comes now, not cell ${number}.`;
  if (!allowed.includes(current.status))
    return `Cell ${number} is ${current.status}; this does not fit there.`;
  return null;
}

function startedRefusal(state: StudyState, number: number): string | null {
  const cell = state.cells[number - 1];
  if (!cell) return unknownCell(state, number);
  return cell.status === 'waiting' || cell.status === 'failed'
    ? `Cell ${number} is ${cell.status}: enter its settings first.`
    : null;
}

function recountRefusal(state: StudyState, number: number): string | null {
  const cell = state.cells[number - 1];
  if (!cell) return unknownCell(state, number);
  return cell.readings.bubbles === null
    ? `Cell ${number} has no first count to compare with. Count its bubbles first.`
    : null;
}

function finishRefusal(state: StudyState, number: number): string | null {
  const wrong = currentRefusal(state, number, ['measuring']);
  if (wrong) return wrong;
  const { readings } = state.cells[number - 1]!;
  const isEmpty =
    readings.log === null && readings.bubbles === null && Object.keys(readings.values).length === 0;
  return isEmpty
    ? `Cell ${number} has no reading yet: attach its log, count bubbles or enter a value.`
    : null;
}

function reopenRefusal(state: StudyState, number: number): string | null {
  const cell = state.cells[number - 1];
  if (!cell) return unknownCell(state, number);
  const current = currentCell(state);
  if (current && current.status !== 'waiting') {
    return `Cell ${current.cell} is ${current.status}: finish it or undo before reopening cell ${number}.`;
  }
  return cell.status === 'done' || cell.status === 'failed' || cell.status === 'left out'
    ? null
    : `Cell ${number} is ${cell.status}; only a done, failed or left-out cell can be reopened.`;
}

function undoRefusal(state: StudyState, seq: number): string | null {
  const last = state.undoable.at(-1);
  if (!last) return 'There is nothing to undo.';
  if (last.seq !== seq)
    return `Only the latest entry can be undone, which is ${last.seq} ("${last.what.kind}"); got ${seq}.`;
  return isUndoable(last.what.kind) ? null : `"${last.what.kind}" cannot be undone.`;
}
