import type { GaugeLog } from '@strandwise/core';
import type { LineFormat } from '../format/line-format.ts';
import { isAbsolute } from '../format/time-stamp.ts';
import { GaugeError } from '../gauge-error.ts';
import type { FaultTally } from './fault-tally.ts';
import { rowLayout } from './row-layout.ts';

/** A silence longer than this is only believed once five readings in a row say so. */
const LONG_JUMP_SECONDS = 3600;
const WITNESSES = 5;
const DAY = 86_400;
/** Numbers of seconds above this are a date (2001-09-09 or later). */
const EPOCH_LIKE = 1e9;

/**
 * Rows turned into columns, in mm, mm/s and °C, with time in order.
 *
 * A row whose time goes back, or jumps more than an hour, waits. When the next rows return, it was a
 * slip and is kept apart; when five in a row agree with it, the clock was set (time goes on from the
 * last reading, and a note says so) or the gauge was off (the gap is real).
 */
export interface LogColumns {
  /** Time in slot 0, then one slot a field of the format; NaN where missing. */
  readonly row: Float64Array;
  add(line: number): void;
  /** Takes room for this many readings, so that the columns need not grow again and again. */
  expect(readings: number): void;
  /** What is gathered since the last drain; empties the columns. */
  drain(): GaugeLog;
  /** Gives up on waiting rows; call once, at the end. */
  finish(): void;
  readonly count: () => number;
  readonly notes: readonly string[];
}

export function logColumns(
  format: LineFormat,
  tally: FaultTally,
  mostReadings: number,
): LogColumns {
  const layout = rowLayout(format);
  const row = new Float64Array(1 + format.fields.length);
  const store = columnStore(layout.names.length);
  const clock = clockOf(format);
  const notes: string[] = [];
  const own = new Float64Array(layout.names.length);
  let waiting: { seconds: number; line: number; values: Float64Array }[] = [];
  let origin = Number.NaN;
  let last = Number.NaN;
  let step = 1;
  let shift = 0;
  let total = 0;

  const accept = (seconds: number, values: Float64Array): void => {
    if (seconds > last) step = Math.min(seconds - last, 60);
    last = seconds;
    if (++total > mostReadings) throw tooMany(mostReadings);
    store.push(seconds - origin, values);
  };
  const giveUp = (): void => {
    for (const { line } of waiting) tally.add({ line, reason: 'time-astray' });
    waiting = [];
  };
  const believe = (): void => {
    const first = waiting[0]!;
    if (first.seconds < last) {
      const back = last + step - first.seconds;
      shift += back;
      for (const entry of waiting) entry.seconds += back;
      notes.push(
        `The clock went back by ${Math.round(back - step)} s at line ${first.line}; time goes on from there without a gap.`,
      );
    } else {
      notes.push(
        `The gauge was silent for ${Math.round(first.seconds - last)} s before line ${first.line}.`,
      );
    }
    const rows = waiting;
    waiting = [];
    for (const { seconds, values } of rows) accept(seconds, values);
  };
  const wait = (seconds: number, line: number): void => {
    const before = waiting.at(-1);
    if (before && !isNext(before.seconds, seconds)) giveUp();
    waiting.push({ seconds, line, values: own.slice() });
    if (waiting.length >= WITNESSES) believe();
  };

  return {
    row,
    notes,
    count: () => total,
    add(line) {
      const reason = layout.readInto(own, row);
      if (reason) {
        tally.add({ line, reason });
        return;
      }
      const seconds = clock(row[0]!, last - shift) + shift;
      if (Number.isNaN(last)) {
        origin = seconds;
        last = seconds;
      }
      if (!isNext(last, seconds)) {
        wait(seconds, line);
        return;
      }
      if (waiting.length > 0) giveUp();
      accept(seconds, own);
    },
    expect: (readings) => store.expect(Math.min(readings, mostReadings)),
    finish: giveUp,
    drain: () => ({
      ...layout.log(store.drain()),
      ...(clock.isDated(origin) && { startedAt: Math.round(origin * 1000) }),
    }),
  };
}

function isNext(before: number, after: number): boolean {
  return after >= before && after - before <= LONG_JUMP_SECONDS;
}

function tooMany(most: number): GaugeError {
  return new GaugeError(
    'too_many_readings',
    `readLog: the log must hold at most ${most} readings in memory; got more. Read it in pieces, or cut the file by time.`,
  );
}

/** How slot 0 becomes seconds: by step number, by the nearest day of a clock, or as it stands. */
function clockOf(format: LineFormat) {
  const { time } = format;
  let index = 0;
  const isClock = time.from === 'column' && time.as === 'clock';
  const read = (raw: number, last: number): number => {
    // A file does not say when its lines arrived; one a second is what gauges of this class send.
    if (time.from !== 'column') return (time.from === 'step' ? time.seconds : 1) * index++;
    if (!isClock || Number.isNaN(last)) return raw;
    return raw + DAY * Math.round((last - raw) / DAY);
  };
  const isDated = (origin: number): boolean =>
    time.from === 'column' && (isAbsolute(time.as) || (!isClock && origin > EPOCH_LIKE));
  return Object.assign(read, { isDated });
}

const FIRST_CAPACITY = 4096;

/** Columns that double as they grow; time first. */
function columnStore(width: number) {
  let capacity = FIRST_CAPACITY;
  let length = 0;
  const fresh = (): Float64Array[] =>
    Array.from({ length: width + 1 }, () => new Float64Array(capacity));
  let columns = fresh();
  const growTo = (readings: number): void => {
    capacity = readings;
    columns = columns.map((old) => {
      const larger = new Float64Array(capacity);
      larger.set(old.subarray(0, length));
      return larger;
    });
  };
  return {
    expect(readings: number): void {
      if (readings > capacity && Number.isSafeInteger(readings)) growTo(readings);
    },
    push(seconds: number, values: Float64Array): void {
      if (length === capacity) growTo(2 * capacity);
      columns[0]![length] = seconds;
      for (let k = 0; k < width; k++) columns[k + 1]![length] = values[k]!;
      length++;
    },
    drain(): Float64Array[] {
      const out = columns.map((column) => column.subarray(0, length));
      capacity = Math.max(FIRST_CAPACITY, length);
      length = 0;
      columns = fresh();
      return out;
    },
  };
}
