import type { StudyEvent } from './event.ts';
import { isUndoable } from './fold.ts';

/**
 * The entry that redo would record again: the latest one taken back, as long as nothing else has been
 * entered since. Null when there is none.
 */
export function redoable(log: readonly StudyEvent[]): StudyEvent | null {
  const taken: StudyEvent[] = [];
  for (const { what } of log) {
    if (what.kind === 'entry undone') taken.push(log[what.seq - 1]!);
    else if (isUndoable(what.kind)) {
      const isAgain = JSON.stringify(taken.at(-1)?.what) === JSON.stringify(what);
      if (isAgain) taken.pop();
      else taken.length = 0;
    }
  }
  return taken.at(-1) ?? null;
}
