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
  /** Work in progress beside the log. */
  readonly drafts: DraftShelf;
  close(): void;
}

/**
 * What is not an entry yet and must survive a cut of power all the same: half-typed answers, tallies,
 * readings as they come. Each call is durable when it returns. Drafts are no part of the record: they
 * are neither hashed nor exported, and are dropped once an entry holds what they held.
 */
export interface DraftShelf {
  keep(key: string, bytes: Uint8Array): void;
  draft(key: string): Uint8Array | undefined;
  /** Every draft whose key starts with `prefix`, in order of key. */
  drafts(prefix: string): readonly { readonly key: string; readonly bytes: Uint8Array }[];
  /** Drops every draft whose key starts with `prefix`. */
  forget(prefix: string): void;
  /**
   * Reads and replaces in one step, so that of two who try at once only one wins. `next` returns what
   * to keep, or null to leave things as they are.
   * @returns true when replaced
   */
  exchange(key: string, next: (now: Uint8Array | undefined) => Uint8Array | null): boolean;
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
