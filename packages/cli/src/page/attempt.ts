import {
  fittedCells,
  type Point,
  pointOf,
  type SetPoints,
  type StudyState,
} from '@strandwise/core';
import type { Outcome } from '@strandwise/report';
import { failureOutcome } from './outcome.ts';

/** One attempt that ended: where it stood, natural units, and how it ended. */
export interface Attempt {
  readonly natural: Point;
  readonly outcome: Outcome;
}

/** Every attempt that a fit knows of, failed ones as well. */
export function attempts(state: StudyState): Attempt[] {
  const { factors, line } = state.opened;
  return fittedCells(state).flatMap(({ entered, failures, run, status }) => {
    const at = (setPoints: SetPoints | null): Point =>
      setPoints ? pointOf(setPoints, factors, line) : run.natural;
    const failed = failures.map(
      ({ direction, setPoints }): Attempt => ({
        natural: at(setPoints),
        outcome: failureOutcome(direction),
      }),
    );
    return status === 'done' ? [...failed, { natural: at(entered), outcome: 'measured' }] : failed;
  });
}
