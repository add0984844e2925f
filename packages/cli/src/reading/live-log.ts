import type { GaugeReading, GaugeWatchOptions, SourceEvent } from '@strandwise/core';
import { type LineFormat, liveReader } from '@strandwise/gauge';

/**
 * The text in which live lines are kept with a study: every line of the gauge as it came, behind the
 * time it arrived, in ms since the cell's settings were entered. A stretch begins where somebody
 * started to listen, so that a walk that was cut off and taken up again stays one log.
 *
 *     # strandwise live log 1
 *     # gauge 127.0.0.1:4001
 *     @ 0
 *     12	0.0,1.7512,16.21
 *     1013	1.0,1.7498,16.20
 */
export const liveLogHead = (place: string): string =>
  `# strandwise live log 1\n# gauge ${place.replace(/\s+/g, ' ')}\n`;

export const stretchMark = (ms: number): string => `@ ${Math.round(ms)}\n`;

export const keptLine = (ms: number, raw: string): string =>
  `${Math.round(ms)}\t${raw.replace(/[\r\n]+/g, ' ')}\n`;

/** What stands on one line of a kept log. */
type Kept =
  | { readonly kind: 'stretch'; readonly ms: number }
  | { readonly kind: 'line'; readonly ms: number; readonly raw: string }
  | { readonly kind: 'remark' };

function keptOf(text: string): Kept {
  if (text.startsWith('@ ')) return { kind: 'stretch', ms: Number(text.slice(2)) };
  const tab = text.indexOf('\t');
  const ms = tab > 0 ? Number(text.slice(0, tab)) : Number.NaN;
  return Number.isFinite(ms) ? { kind: 'line', ms, raw: text.slice(tab + 1) } : { kind: 'remark' };
}

/** When the last line of a kept log, or its last stretch, came; NaN when it holds neither. */
export function lastLineMs(bytes: Uint8Array): number {
  const lines = new TextDecoder().decode(bytes.subarray(-8192)).trimEnd().split('\n');
  const kept = keptOf(lines.at(-1) ?? '');
  return kept.kind === 'remark' ? Number.NaN : kept.ms;
}

export interface Replay {
  readonly lines: number;
  readonly unparsed: number;
}

/** Hears a kept log again as its pieces come; every piece ends at a line's end. */
export interface LogReplayer {
  push(piece: Uint8Array): void;
  seen(): Replay;
}

/**
 * Hears kept lines exactly as they were heard live: every figure of a study can be worked out anew
 * from its raw bytes. Readings come with the seconds since the cell's settings were entered.
 */
export function logReplayer(
  format: LineFormat,
  hear: (reading: GaugeReading) => void,
  watch: GaugeWatchOptions = {},
): LogReplayer {
  let lines = 0;
  let unparsed = 0;
  let listener: CellListener | undefined;
  let burst: string[] = [];
  let burstMs = Number.NaN;
  const close = (): void => {
    if (burst.length > 0) listener?.lines(burst, burstMs);
    burst = [];
  };
  const take = (kept: Kept): void => {
    if (kept.kind === 'stretch') {
      close();
      listener = cellListener(format, watch, (event, seconds) => {
        if (event.kind === 'reading') hear({ ...event.reading, seconds });
        else if (event.kind === 'unparsed') unparsed++;
      });
    } else if (kept.kind === 'line') {
      lines++;
      if (kept.ms !== burstMs) close();
      burstMs = kept.ms;
      burst.push(kept.raw);
    }
  };
  return {
    push(piece) {
      for (const text of new TextDecoder().decode(piece).split('\n')) take(keptOf(text));
      close();
    },
    seen: () => ({ lines, unparsed }),
  };
}

/** A whole kept log at once. */
export function replayed(
  bytes: Uint8Array,
  format: LineFormat,
  hear: (reading: GaugeReading) => void,
): Replay {
  const replayer = logReplayer(format, hear);
  replayer.push(bytes);
  return replayer.seen();
}

interface CellListener {
  lines(lines: readonly string[], ms: number): void;
}

/** A reader of lines with known arrival times, that tells when, in seconds of the cell. */
function cellListener(
  format: LineFormat,
  watch: GaugeWatchOptions,
  hear: (event: SourceEvent, seconds: number) => void,
): CellListener {
  let nowSeconds = 0;
  const place = onCellTime();
  let reader: ReturnType<typeof liveReader> | undefined;
  return {
    lines(lines, ms) {
      nowSeconds = ms / 1000;
      reader ??= liveReader({ format, watch, now: () => nowSeconds }, (event) =>
        hear(event, event.kind === 'reading' ? place(event.reading.seconds, nowSeconds) : 0),
      );
      reader.lines(lines);
    },
  };
}

/**
 * Puts readings on the time of the cell: the gauge's own steps, starting at the arrival of the first.
 */
export function onCellTime(): (gaugeSeconds: number, arrivedSeconds: number) => number {
  let offset = Number.NaN;
  return (gaugeSeconds, arrivedSeconds) => {
    if (Number.isNaN(offset)) offset = arrivedSeconds - gaugeSeconds;
    return gaugeSeconds + offset;
  };
}
