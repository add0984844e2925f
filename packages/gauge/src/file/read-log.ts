import { closeSync, fstatSync, openSync, readSync, statSync } from 'node:fs';
import type { GaugeLog } from '@strandwise/core';
import { guessLineFormat } from '../format/guess-line-format.ts';
import type { LineFormat } from '../format/line-format.ts';
import { GaugeError, type GaugeErrorCode, placeInWords } from '../gauge-error.ts';
import { faultInWords, type LineFaultReason, type Unparsed } from './fault-tally.ts';
import { type LogParser, type LogParserOptions, logParser } from './log-parser.ts';
import { plainBytes } from './text-encoding.ts';

export interface ReadLogOptions extends LogParserOptions {
  /** How a line is written; guessed from the first lines when absent. */
  readonly format?: LineFormat;
  /** Name for messages. */
  readonly fileName?: string;
}

/** A log as read: the columns, and all that was kept apart or assumed on the way. */
export interface ReadLog {
  readonly log: GaugeLog;
  readonly format: LineFormat;
  readonly lines: number;
  readonly unparsed: Unparsed;
  /** What the reader assumed about the format; each a sentence. */
  readonly unsure: readonly string[];
  /** What happened to time on the way; each a sentence. */
  readonly notes: readonly string[];
}

/** Small enough to stay in the processor's cache between the disk and the parser. */
const CHUNK = 1 << 18;
/** The format is guessed from this much of the head. */
const HEAD = 1 << 16;

/**
 * Reads a whole delimited log into columns.
 *
 * @throws {GaugeError} `empty_file`, `binary_file`, `missing_column`, `duplicate_column`,
 *   `unclear_format`, `nothing_parsed`, `too_many_readings`, `no_such_file`, `unreadable_file`
 */
export function readLogFile(path: string, options: ReadLogOptions = {}): ReadLog {
  const fileName = options.fileName ?? path;
  return readAll(fileChunks(path, fileName), {
    ...options,
    fileName,
    expectedBytes: statSync(path, { throwIfNoEntry: false })?.size ?? 0,
  });
}

/** Reads a log from text or bytes already at hand; see `readLogFile`. */
export function readLog(content: string | Uint8Array, options: ReadLogOptions = {}): ReadLog {
  return readAll([typeof content === 'string' ? Buffer.from(content) : content], options);
}

/**
 * Reads a log of any size in pieces of a quarter of a megabyte of file, so that memory stays bounded.
 * Time runs on from piece to piece.
 *
 * @throws {GaugeError} as `readLogFile`, but `nothing_parsed` only after the last piece
 */
export function* readLogPieces(
  path: string,
  options: ReadLogOptions = {},
): Generator<GaugeLog, Omit<ReadLog, 'log'>> {
  const fileName = options.fileName ?? path;
  const unbounded = { ...options, fileName, mostReadings: Number.POSITIVE_INFINITY };
  const reading = startReading(fileChunks(path, fileName), unbounded);
  for (const parser of reading.steps) {
    const piece = parser.drain();
    if (piece.seconds.length > 0) yield piece;
  }
  return reading.outcome();
}

function readAll(chunks: Iterable<Uint8Array>, options: ReadLogOptions): ReadLog {
  const reading = startReading(chunks, options);
  let parser: LogParser | undefined;
  for (const step of reading.steps) parser = step;
  return { log: parser!.drain(), ...reading.outcome() };
}

function startReading(chunks: Iterable<Uint8Array>, options: ReadLogOptions) {
  let parser: LogParser | undefined;
  let known: { format: LineFormat; unsure: readonly string[] } | undefined;
  function* steps(): Generator<LogParser> {
    for (const bytes of plainBytes(chunks, options.fileName)) {
      if (parser === undefined) {
        known = options.format
          ? { format: options.format, unsure: [] }
          : guessedFormat(bytes, options.fileName);
        parser = logParser(known.format, options);
      }
      parser.push(bytes);
      yield parser;
    }
    parser!.finish();
    if (parser!.readings() === 0) throw nothingParsed(parser!, known!.format, options.fileName);
    yield parser!;
  }
  return {
    steps: steps(),
    outcome: () => ({
      format: known!.format,
      unsure: known!.unsure,
      lines: parser!.lines(),
      unparsed: parser!.unparsed(),
      notes: parser!.notes(),
    }),
  };
}

function guessedFormat(head: Buffer, file: string | undefined) {
  const part = head.subarray(0, HEAD).toString('utf8');
  const lines = part.split(/\r?\n/);
  // The last line may be cut by the end of the head.
  if (lines.length > 1 && (head.length > HEAD || lines.at(-1) === '')) lines.pop();
  const guess = guessLineFormat(lines.slice(0, 200));
  if (guess.kind === 'guess') return guess;
  const { code, line, column, got, says } = guess;
  throw faultAt(code, { file, line, column }, `the columns must be told apart; got ${got}`, says);
}

function nothingParsed(
  parser: LogParser,
  format: LineFormat,
  file: string | undefined,
): GaugeError {
  const { first, byReason } = parser.unparsed();
  const fault = first[0];
  const reasons = Object.entries(byReason)
    .map(([reason, count]) => `${count} × ${faultInWords(reason as LineFaultReason)}`)
    .join('; ');
  const got = reasons === '' ? `${parser.lines()} lines without a reading` : reasons;
  return faultAt(
    parser.lines() <= format.headerLines && fault === undefined ? 'empty_file' : 'nothing_parsed',
    { file, line: fault?.line ?? 1, column: fault?.column },
    `at least one line must hold a reading; got ${got}${fault?.text ? `, first "${fault.text}"` : ''}`,
    'Describe the line format, or check that this is the gauge log.',
  );
}

function faultAt(
  code: GaugeErrorCode,
  place: { file: string | undefined; line?: number; column?: number | undefined },
  rule: string,
  next: string,
): GaugeError {
  const sentence = next.charAt(0).toUpperCase() + next.slice(1);
  return new GaugeError(code, `readLog: ${rule} (${placeInWords(place)}). ${sentence}`, place);
}

function* fileChunks(path: string, file: string): Generator<Buffer> {
  let handle: number;
  try {
    handle = openSync(path, 'r');
  } catch (cause) {
    throw cannotRead(file, cause);
  }
  try {
    if (fstatSync(handle).isDirectory()) throw cannotRead(file, new Error('it is a folder'));
    // One buffer for all pieces: whoever needs bytes of the piece before has copied them.
    const chunk = Buffer.allocUnsafe(CHUNK);
    for (;;) {
      const got = readSync(handle, chunk, 0, CHUNK, null);
      if (got === 0) return;
      yield chunk.subarray(0, got);
    }
  } catch (cause) {
    throw cause instanceof GaugeError ? cause : cannotRead(file, cause);
  } finally {
    closeSync(handle);
  }
}

function cannotRead(file: string, cause: unknown): GaugeError {
  const code = (cause as NodeJS.ErrnoException).code;
  const isMissing = code === 'ENOENT';
  return new GaugeError(
    isMissing ? 'no_such_file' : 'unreadable_file',
    isMissing
      ? `readLog: the log must exist; got no file (${file}). Check the name.`
      : `readLog: the log must be readable; got ${code ?? (cause as Error).message} (${file}). Check that it is a file and that you may read it.`,
    { file },
    cause,
  );
}
