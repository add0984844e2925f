import type { StudyState } from '@strandwise/core';

/** What a response is read in: a count by the metre, anything else as declared; empty for a plain number. */
export function unitOf(name: string, { opened }: Pick<StudyState, 'opened'>): string {
  const response = opened.responses.find((candidate) => candidate.name === name);
  return response?.kind === 'count' ? 'per m' : (response?.unit ?? '');
}
