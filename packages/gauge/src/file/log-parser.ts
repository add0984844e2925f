import type { GaugeLog } from '@strandwise/core';
import type { LineFormat } from '../format/line-format.ts';
import { LONGEST_LINE, lineReader } from '../format/line-reader.ts';
import { byteReader, ODD_LINE } from './byte-reader.ts';
import { faultTally, type Unparsed } from './fault-tally.ts';
import { logColumns } from './log-columns.ts';

const NEWLINE = 10;
const HASH = 35;

/** A log read in chunks of bytes, in memory that does not grow with the file when drained. */
export interface LogParser {
  push(chunk: Uint8Array): void;
  /** Reads what is left of the last line; call once. */
  finish(): void;
  /** Readings since the last drain. */
  drain(): GaugeLog;
  readonly lines: () => number;
  readonly readings: () => number;
  readonly unparsed: () => Unparsed;
  readonly notes: () => readonly string[];
}

export interface LogParserOptions {
  /** Most readings held before the parser refuses; 50 million by default. */
  readonly mostReadings?: number;
  /** Reads every line by the general reader; for checking the byte reader against it. */
  readonly isGeneralOnly?: boolean;
  /** Size of the whole log when it is known, so that room for its readings is taken once. */
  readonly expectedBytes?: number;
}

const MOST_READINGS = 50_000_000;
const nothing: Buffer = Buffer.alloc(0);

/**
 * A parser for one known format. Lines must end in a line feed, with or without a carriage return.
 *
 * @throws {GaugeError} `too_many_readings` from push, when more are held than allowed
 */
export function logParser(format: LineFormat, options: LogParserOptions = {}): LogParser {
  const tally = faultTally();
  const columns = logColumns(format, tally, options.mostReadings ?? MOST_READINGS);
  const { row } = columns;
  const fast = options.isGeneralOnly ? undefined : byteReader(format);
  const general = lineReader(format);
  const text = new TextDecoder();
  let carry: Buffer = nothing;
  let isFirst = true;
  let lines = 0;
  let isSkipping = false;
  let tail: LineTail | undefined;

  const readGeneral = (bytes: Buffer, start: number, end: number): void => {
    const first = bytes[start];
    if (first === HASH || isBlank(bytes, start, end)) return;
    const isLong = end - start > LONGEST_LINE;
    const line = text.decode(bytes.subarray(start, isLong ? start + 80 : end));
    const fault = isLong ? ({ reason: 'too-long' } as const) : general(line, row);
    if (fault === undefined) columns.add(lines);
    else tally.add({ line: lines, text: line, ...fault });
  };

  /** Reads whole lines from `from` to `to`, which stands just after a line feed. */
  const readLines = (bytes: Buffer, from: number, to: number): void => {
    let at = from;
    while (at < to) {
      lines++;
      if (lines <= format.headerLines) {
        at = bytes.indexOf(NEWLINE, at) + 1;
        continue;
      }
      const next = fast === undefined ? ODD_LINE : fast(bytes, at, to, row);
      if (next !== ODD_LINE) {
        columns.add(lines);
        at = next;
        continue;
      }
      const feed = bytes.indexOf(NEWLINE, at);
      const end = feed > at && bytes[feed - 1] === 13 ? feed - 1 : feed;
      readGeneral(bytes, at, end);
      at = feed + 1;
    }
  };

  /** Reads the line that began in the piece before, and says where the next one starts. */
  const readSeam = (bytes: Buffer): number => {
    const feed = bytes.indexOf(NEWLINE);
    if (feed < 0) return 0;
    const line = Buffer.concat([carry, bytes.subarray(0, feed + 1)]);
    carry = nothing;
    readLines(line, 0, line.length);
    tail = lineTail(line, line.length) ?? tail;
    return feed + 1;
  };

  /** Takes room for as many readings as the first lines suggest. */
  const expectReadings = (bytes: Buffer, to: number): void => {
    isFirst = false;
    const { expectedBytes = 0 } = options;
    if (expectedBytes <= bytes.length || to === 0) return;
    let lines = 0;
    for (let i = 0; i < to; i++) if (bytes[i] === NEWLINE) lines++;
    columns.expect(Math.ceil((1.02 * expectedBytes * lines) / to));
  };

  return {
    push(chunk) {
      let bytes = asBuffer(chunk);
      if (isSkipping) {
        const feed = bytes.indexOf(NEWLINE);
        if (feed < 0) return;
        isSkipping = false;
        lines++;
        tally.add({ line: lines, reason: 'too-long' });
        bytes = bytes.subarray(feed + 1);
      }
      const from = carry.length > 0 ? readSeam(bytes) : 0;
      const to = Math.max(from, bytes.lastIndexOf(NEWLINE) + 1);
      if (isFirst) expectReadings(bytes, to);
      readLines(bytes, from, to);
      if (to > from) tail = lineTail(bytes, to) ?? tail;
      if (to < bytes.length) carry = Buffer.concat([carry, bytes.subarray(to)]);
      // A "line" of megabytes without a line feed is not kept: memory stays bounded.
      if (carry.length > 1 << 20) {
        carry = nothing;
        isSkipping = true;
      }
    },
    finish() {
      if (isSkipping) tally.add({ line: ++lines, reason: 'too-long' });
      else if (carry.length > 0) {
        if (isCutShort(carry, tail)) {
          lines++;
          tally.add({ line: lines, reason: 'cut-short', text: text.decode(carry.subarray(0, 80)) });
        } else readLines(Buffer.concat([carry, Buffer.from('\n')]), 0, carry.length + 1);
      }
      carry = nothing;
      columns.finish();
    },
    drain: columns.drain,
    lines: () => lines,
    readings: columns.count,
    unparsed: tally.sofar,
    notes: () => columns.notes,
  };
}

function asBuffer(chunk: Uint8Array): Buffer {
  return Buffer.isBuffer(chunk)
    ? chunk
    : Buffer.from(chunk.buffer, chunk.byteOffset, chunk.byteLength);
}

function isBlank(bytes: Buffer, start: number, end: number): boolean {
  for (let i = start; i < end; i++) {
    const c = bytes[i]!;
    if (c !== 32 && c !== 9 && c !== 13) return false;
  }
  return true;
}

/** How many bytes follow the last mark or delimiter of a line: digits that a cut would lose. */
interface LineTail {
  readonly length: number;
}

function lineTail(bytes: Buffer, end: number): LineTail | undefined {
  if (end < 2) return undefined;
  let stop = end - 1;
  if (bytes[stop - 1] === 13) stop--;
  return { length: digitsBefore(bytes, stop) };
}

function digitsBefore(bytes: Buffer, stop: number): number {
  let from = stop;
  while (from > 0 && bytes[from - 1]! >= 48 && bytes[from - 1]! <= 57) from--;
  return stop - from;
}

/**
 * A last line without line feed may have lost digits of its last number: `1.7` for `1.752`. It is
 * kept only when that number has as many trailing digits as the line before.
 */
function isCutShort(carry: Buffer, tail: LineTail | undefined): boolean {
  return tail !== undefined && digitsBefore(carry, carry.length) < tail.length;
}
