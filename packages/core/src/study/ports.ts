import type { NewEvent, RawReference, StudyEvent } from './event.ts';

/**
 * Where one study is kept: an append-only log of events and the raw bytes they refer to.
 *
 * An append is durable when the call returns. `expected` is the last sequence number the writer has
 * seen; when the log has moved on, nothing is written and `StaleStudyError` is thrown, so two
 * people cannot silently overwrite each other.
 */
export interface StudyStore {
  /** Where the study is, in words for people. */
  readonly place: string;
  /** Events after sequence number `after` (default 0: all), in order. */
  events(after?: number): readonly StudyEvent[];
  append(events: readonly NewEvent[], expected: number): readonly StudyEvent[];
  /** Keeps bytes under the SHA-256 of their content; the same bytes twice are kept once. */
  putRaw(name: string, bytes: Uint8Array): RawReference;
  /** The bytes, or undefined when the store has none under this hash. */
  raw(sha256: string): Uint8Array | undefined;
  /** Problems found in events, hashes and raw bytes, in words; empty when the study is sound. */
  verify(): readonly string[];
  close(): void;
}

/** The moment, as milliseconds since 1970-01-01 UTC. */
export interface Clock {
  now(): number;
}

/** Someone else wrote to the study first; read again, then decide again. */
export class StaleStudyError extends Error {
  readonly expected: number;
  readonly found: number;

  constructor(expected: number, found: number) {
    super(
      `append: the study must not have moved on; got ${found - expected} newer ${found - expected === 1 ? 'entry' : 'entries'} by someone else (last seen ${expected}, now ${found}). Read them, then enter yours again.`,
    );
    this.name = 'StaleStudyError';
    this.expected = expected;
    this.found = found;
  }
}
