import { DomainError, type NewEvent, StaleStudyError, StudyEvent } from '@strandwise/core';

/**
 * New entries with their sequence numbers, checked against the schema.
 * @throws {StaleStudyError} when the log has moved on since `expected`
 * @throws {DomainError} `bad_event` when an entry breaks its schema
 */
export function numberedEvents(
  events: readonly NewEvent[],
  expected: number,
  found: number,
): StudyEvent[] {
  if (expected !== found) throw new StaleStudyError(expected, found);
  return events.map((event, i) => {
    const parsed = StudyEvent.safeParse({ seq: found + i + 1, ...event });
    if (parsed.success) return parsed.data;
    const issue = parsed.error.issues[0]!;
    throw new DomainError(
      'bad_event',
      `append: field "${issue.path.join('.')}" ${issue.message} (entry ${found + i + 1}, "${event.what.kind}"). Nothing was written.`,
      { path: issue.path },
    );
  });
}

/** What the raw bytes named by an entry are, if any: every `raw` field at the top of a happening. */
export function rawHashes(events: readonly StudyEvent[]): { seq: number; sha256: string }[] {
  return events.flatMap(({ seq, what }) =>
    'raw' in what && what.raw ? [{ seq, sha256: what.raw.sha256 }] : [],
  );
}
