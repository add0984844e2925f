import type { Check, ResponseFit } from '@strandwise/core';
import type { Line } from '../terminal/line.ts';
import { line } from '../terminal/line.ts';
import { told } from './told.ts';

/** Concerns in full, first; what cannot be told; then what is sound, in full too: one sentence each. */
export function checkLines({ checks }: ResponseFit, columns: number): Line[] {
  if (checks.length === 0) return [];
  const of = (standing: Check['standing']): readonly Check[] =>
    checks.filter((check) => check.standing === standing);
  return [
    line('   does the fit stand', 'quiet'),
    ...of('concern').flatMap(({ says }) => told(says, columns, { role: 'warning', mark: '!' })),
    ...of('unknown').flatMap(({ says }) => told(says, columns, { mark: '?' })),
    ...of('sound').flatMap(({ says }) => told(says, columns, { indent: 5 })),
  ];
}
