import {
  type GaugeWatchOptions,
  gaugeWatch,
  type SourceEvent,
  type WatchEvent,
} from '@strandwise/core';
import { faultInWords } from '../file/fault-tally.ts';
import { rowLayout } from '../file/row-layout.ts';
import type { LineFormat } from '../format/line-format.ts';
import { lineReader } from '../format/line-reader.ts';

/** Our clock in seconds, from any origin, never back. */
export type Ticking = () => number;

export const monotonicSeconds: Ticking = () => performance.now() / 1000;

export interface LiveOptions {
  readonly format: LineFormat;
  readonly watch?: GaugeWatchOptions;
  /** For tests; the machine's monotonic clock by default. */
  readonly now?: Ticking;
}

/** Makes source events of lines, with the watch over silence, stuck gauges and clocks. */
export interface LiveReader {
  /** Lines that arrived together, oldest first. `isBacklog`: written before anyone listened. */
  lines(lines: readonly string[], isBacklog?: boolean): void;
  /** Lines where a header is expected: heard when they are readings, passed over when not. */
  header(lines: readonly string[]): void;
  unparsed(line: string, why: string): void;
  /** The far side is gone; told once until readings are back. */
  lost(why: string): void;
  /** Call about once a second, right after what had come was read. */
  tick(): void;
}

const DAY = 86_400;

export function liveReader(
  { format, watch: watchOptions, now = monotonicSeconds }: LiveOptions,
  hear: (event: SourceEvent) => void,
): LiveReader {
  const layout = rowLayout(format);
  const read = lineReader(format);
  const row = new Float64Array(1 + format.fields.length);
  const own = new Float64Array(layout.names.length);
  const watch = gaugeWatch(watchOptions);
  const time = liveTime(format);
  let state = watch.start(now());
  let lostAt: number | undefined;

  const takeReading = (raw: string, isFresh: boolean, isBacklog: boolean): void => {
    const at = now();
    if (lostAt !== undefined) {
      hear({ kind: 'back', afterSeconds: at - lostAt });
      lostAt = undefined;
      state = { ...state, lastHeardAt: at, isAlarmed: false };
    }
    const gaugeSeconds = time.gaugeSeconds(row[0]!, at);
    const reading = layout.reading(own, gaugeSeconds);
    let events: readonly WatchEvent[] = [];
    // A long backlog takes time to read, in which nobody can have missed a reading.
    if (isBacklog) state = { ...state, startedAt: at };
    else ({ state, events } = watch.read(state, reading, at, isFresh));
    let isBelievable = true;
    for (const event of events) {
      if (event.kind === 'clock-jump') time.jumped(event.bySeconds);
      if (event.kind === 'beyond-belief') {
        isBelievable = false;
        hear({ ...event, raw });
      } else hear(event);
    }
    if (!isBelievable) return;
    hear({
      kind: 'reading',
      raw,
      reading: { ...reading, seconds: time.heardSeconds(gaugeSeconds) },
    });
  };

  const takeLine = (raw: string, isFresh: boolean, isBacklog: boolean): void => {
    if (raw.trim() === '') return;
    const fault = read(raw, row);
    const reason = fault?.reason ?? layout.readInto(own, row);
    if (reason === undefined) takeReading(raw, isFresh, isBacklog);
    else if (reason === 'no-strand' || reason === 'beyond-belief') {
      // The gauge is alive and says so; the watch finds the words.
      own[0] = layout.claimedMm(row);
      takeReading(raw, isFresh, isBacklog);
    } else hear({ kind: 'unparsed', line: raw, why: faultInWords(reason) });
  };

  return {
    lines(lines, isBacklog = false) {
      for (const [i, raw] of lines.entries()) takeLine(raw, i === lines.length - 1, isBacklog);
    },
    header(lines) {
      for (const raw of lines) if (read(raw, row) === undefined) takeLine(raw, false, true);
    },
    unparsed: (line, why) => hear({ kind: 'unparsed', line, why }),
    lost(why) {
      if (lostAt !== undefined) return;
      lostAt = now();
      hear({ kind: 'lost', why });
    },
    tick() {
      if (lostAt !== undefined) return;
      const step = watch.tick(state, now());
      state = step.state;
      for (const event of step.events) hear(event);
    },
  };
}

/**
 * Time of live readings: from the gauge when it says, else from arrival. What is heard counts from
 * the first reading, never goes back, and goes on without a step when the gauge's clock is set.
 */
function liveTime({ time }: LineFormat) {
  const isClock = time.from === 'column' && time.as === 'clock';
  let origin = Number.NaN;
  let last = Number.NaN;
  let shift = 0;
  let heard = 0;
  return {
    gaugeSeconds(raw: number, arrivedAt: number): number {
      let seconds = time.from === 'column' ? raw : arrivedAt;
      if (isClock && !Number.isNaN(last)) seconds += DAY * Math.round((last - seconds) / DAY);
      if (Number.isNaN(origin)) origin = seconds;
      last = seconds;
      return seconds;
    },
    jumped(bySeconds: number): void {
      shift -= bySeconds;
    },
    heardSeconds(gaugeSeconds: number): number {
      heard = Math.max(heard, gaugeSeconds - origin + shift);
      return heard;
    },
  };
}
