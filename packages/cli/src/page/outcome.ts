import type { CellState, FailureDirection } from '@strandwise/core';
import type { Outcome } from '@strandwise/report';
import { listed } from './sentence.ts';

const outcomes: Readonly<Partial<Record<FailureDirection, Outcome>>> = {
  cold: 'cold',
  hot: 'hot',
  'no feed': 'feed',
};

/** The mark of a failure: what blocked a nozzle says nothing about its setting. */
export const failureOutcome = (direction: FailureDirection | undefined): Outcome =>
  (direction && outcomes[direction]) ?? 'other';

/** Which cells failed which way, at any attempt: "no feed in cells 4 and 15; cold in cell 28". */
export function failureWays(cells: readonly CellState[]): string {
  const ways = new Map<string, number[]>();
  for (const { cell, failures } of cells)
    for (const { direction } of failures)
      ways.set(direction, [...new Set([...(ways.get(direction) ?? []), cell])]);
  return [...ways]
    .map(
      ([way, failed]) =>
        `${way} in ${failed.length === 1 ? 'cell' : 'cells'} ${listed(failed.map(String))}`,
    )
    .join('; ');
}
