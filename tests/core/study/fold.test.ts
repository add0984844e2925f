import {
  currentCell,
  type Happening,
  nextState,
  refusal,
  type StudyEvent,
  type StudyState,
  stageOf,
  studyState,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { adoptedPlan, at, openedStudy, setPoints } from './example-study.ts';

function logOf(happenings: readonly Happening[]): StudyEvent[] {
  return happenings.map((what, i) => ({ seq: i + 1, at: at(i), who: 'operator', what }));
}

const walked: Happening[] = [
  openedStudy,
  adoptedPlan(3),
  { kind: 'settings entered', cell: 1, setPoints, holdSeconds: 900 },
  { kind: 'hold ended', cell: 1, how: 'full', heldSeconds: 900 },
  { kind: 'bubbles counted', cell: 1, count: 3, metres: 6.2 },
  { kind: 'cell finished', cell: 1 },
];

describe('studyState', () => {
  it('moves a cell through holding and measuring to done', () => {
    const statuses = [3, 4, 5, 6].map(
      (n) => studyState(logOf(walked.slice(0, n))).cells[0]?.status,
    );
    expect(statuses).toEqual(['holding', 'measuring', 'measuring', 'done']);
    expect(studyState(logOf(walked)).queue).toEqual([2, 3]);
  });

  it('takes back an undone entry and keeps it in the log', () => {
    const log = logOf([...walked, { kind: 'entry undone', seq: 6 }]);
    const state = studyState(log);
    expect(state.cells[0]?.status).toBe('measuring');
    expect(state.queue).toEqual([1, 2, 3]);
    expect(state.lastSeq).toBe(7);
    expect(state.undoable.at(-1)?.seq).toBe(5);
  });

  it('keeps what a failed cell failed of, when it is tried again, later or left out', () => {
    const failed = (next: 'again' | 'later' | 'leave out'): StudyState =>
      studyState(
        logOf([...walked.slice(0, 3), { kind: 'cell failed', cell: 1, direction: 'cold', next }]),
      );
    expect(failed('again').queue).toEqual([1, 2, 3]);
    expect(failed('later').queue).toEqual([2, 3, 1]);
    expect(failed('leave out').queue).toEqual([2, 3]);
    expect(failed('leave out').cells[0]?.status).toBe('failed');
    for (const next of ['again', 'later', 'leave out'] as const) {
      expect(failed(next).cells[0]?.failures.map(({ direction }) => direction)).toEqual(['cold']);
    }
  });

  it('names the stage', () => {
    expect(stageOf(studyState(logOf(walked.slice(0, 1))))).toBe('plan');
    expect(stageOf(studyState(logOf(walked)))).toBe('walk');
  });

  it('throws broken_log when an entry is missing', () => {
    const log = logOf(walked).filter(({ seq }) => seq !== 3);
    expect(() => studyState(log)).toThrow(/got 4 in place 3/);
  });

  it('law: folding step by step equals folding the whole log, any legal walk', () => {
    const choice = fc.integer({ min: 0, max: 9 });
    fc.assert(
      fc.property(fc.array(choice, { maxLength: 60 }), (choices) => {
        const log = logOf([openedStudy, adoptedPlan(4)]);
        let state = studyState(log);
        for (const pick of choices) {
          const what = happeningFor(pick, state);
          if (refusal(state, what) !== null) continue;
          const event = { seq: log.length + 1, at: at(log.length), who: 'operator', what };
          log.push(event);
          state = nextState(state, event, log);
          expect(state).toEqual(studyState(log));
        }
      }),
      { seed: 7, numRuns: 200 },
    );
  });
});

function happeningFor(pick: number, state: StudyState): Happening {
  const cell = currentCell(state)?.cell ?? 1;
  switch (pick) {
    case 0:
      return { kind: 'settings entered', cell, setPoints, holdSeconds: 600 };
    case 1:
      return { kind: 'hold ended', cell, how: 'early', heldSeconds: 300 };
    case 2:
      return { kind: 'bubbles counted', cell, count: 1, metres: 5 };
    case 3:
      return { kind: 'cell finished', cell };
    case 4:
      return { kind: 'cell failed', cell, direction: 'hot', next: 'again' };
    case 5:
      return { kind: 'cell failed', cell, direction: 'no feed', next: 'leave out' };
    case 6:
      return { kind: 'cell postponed', cell };
    case 7:
      return { kind: 'cell reopened', cell: 1 };
    case 8:
      return { kind: 'note written', cell, text: 'draught from the door' };
    default:
      return { kind: 'entry undone', seq: state.undoable.at(-1)?.seq ?? 1 };
  }
}
