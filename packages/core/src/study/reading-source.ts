import type { SourceEvent } from '../measurement/source-event.ts';

/** Ends the listening; resolves when file, port or connection is closed. */
export interface Listening {
  stop(): Promise<void>;
}

/**
 * Where readings come from as they are made: a growing file, a serial port, a line stream over TCP, a
 * simulated line. Readings come in order, each once. `seconds` of a reading counts from the first one
 * heard. After `stop` nothing more is heard.
 */
export interface ReadingSource {
  /** Where it listens, in words for people. */
  readonly place: string;
  listen(hear: (event: SourceEvent) => void): Listening;
}
