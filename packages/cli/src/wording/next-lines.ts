import type { CellInfluence, NextStep } from '@strandwise/core';
import { type Line, line } from '../terminal/line.ts';
import { told } from './told.ts';

/** What to do next, best first, numbered. */
export const nextLines = (next: readonly NextStep[], columns: number): Line[] =>
  next.flatMap((step, i) =>
    told(step.says, columns, { mark: `${i + 1}`, role: i === 0 ? 'strong' : 'plain' }),
  );

/** Most cells told of: further ones move the recommendation less. */
const MOST_CELLS = 3;

/** What single cells do to the recommendation. */
export function cellLines(influences: readonly CellInfluence[], columns: number): Line[] {
  if (influences.length === 0) return [];
  return [
    line('   what single cells do to the recommendation', 'quiet'),
    ...influences.slice(0, MOST_CELLS).flatMap(({ says }) => told(says, columns, { indent: 5 })),
  ];
}
