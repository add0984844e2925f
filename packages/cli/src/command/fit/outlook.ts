import {
  type CellInfluence,
  cellInfluences,
  type NextStep,
  nextSteps,
  type Predictor,
  type Recommendation,
} from '@strandwise/core';

/** What a recommendation hangs on, and what to run next. */
export interface Outlook {
  readonly influences: readonly CellInfluence[];
  readonly next: readonly NextStep[];
}

/** Both are of the recommended place: without one there is nothing to weigh them by. */
export function outlookOf(predictor: Predictor, found: Recommendation, asked: number): Outlook {
  if (found.kind !== 'found' && found.kind !== 'nowhere acceptable')
    return { influences: [], next: [] };
  return {
    influences: cellInfluences(predictor, found),
    next: nextSteps(predictor, found, { asked }),
  };
}
