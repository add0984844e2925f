import type { FailureDirection } from '@strandwise/core';
import type { Outcome } from '@strandwise/report';

const outcomes: Readonly<Partial<Record<FailureDirection, Outcome>>> = {
  cold: 'cold',
  hot: 'hot',
  'no feed': 'feed',
};

/** The mark of a failure: what blocked a nozzle says nothing about its setting. */
export const failureOutcome = (direction: FailureDirection | undefined): Outcome =>
  (direction && outcomes[direction]) ?? 'other';
