import type {
  DraftShelf,
  GaugeReading,
  Journal,
  Listening,
  ReadingSource,
  SettlingLights,
  SourceEvent,
} from '@strandwise/core';
import { duration, silenceInWords } from '@strandwise/core';
import type { LineFormat } from '@strandwise/gauge';
import type { LiveCell, WindowSoFar } from './live-cell.ts';
import {
  keptLine,
  lastLineMs,
  liveLogHead,
  onCellTime,
  replayed,
  stretchMark,
} from './live-log.ts';

/** What the gauge shows at this moment. */
export interface LiveView {
  readonly place: string;
  /** Null when all is well. */
  readonly trouble: string | null;
  readonly isHeard: boolean;
  readonly diameterMm: number | null;
  readonly perSecond: number;
  readonly lastMinute: Float64Array;
  readonly lights: SettlingLights | null;
  readonly window: WindowSoFar | null;
  readonly unparsed: number;
  /** Lines of the cell in hand that are on disk. */
  readonly keptLines: number;
}

export interface LiveRecorderOf {
  readonly source: ReadingSource;
  readonly format: LineFormat;
  readonly drafts: DraftShelf;
  /** The steady moment, ms. */
  readonly now: () => number;
  /** Something to be recorded and said. */
  readonly onTrouble: (says: string) => void;
  /** The disk did not take what was heard; it is kept in memory and tried again. */
  readonly onFault: (error: Error) => void;
}

/** Listens for a whole walk, and keeps every line of the cell in hand. */
export interface LiveRecorder {
  /** A new attempt at a cell: what was kept of another is dropped. */
  begin(cell: number, enteredMs: number, live: LiveCell): void;
  /** Takes up a cell that was begun before this program started. */
  resume(cell: number, enteredMs: number, live: LiveCell): void;
  /** The cell whose lines are kept now. */
  inHand(): { readonly cell: number; readonly enteredMs: number; readonly live: LiveCell } | null;
  /** No cell is in hand; its kept lines are dropped. */
  end(): void;
  /** Puts what was heard on disk; call about once a second. */
  flush(): void;
  /** Everything kept of the cell in hand, as one log; null when nothing came. */
  bytes(): Uint8Array | null;
  view(): LiveView;
  stop(): Promise<void>;
}

const TELL_AGAIN_MS = 60_000;
const MOST_BUFFERED = 1 << 18;
export const livePrefix = 'live/';
const chunkKey = (cell: number, n: number): string =>
  `${livePrefix}${cell}/${String(n).padStart(8, '0')}`;

interface InHand {
  readonly cell: number;
  readonly enteredMs: number;
  readonly live: LiveCell;
  place: ReturnType<typeof onCellTime>;
}

export function liveRecorder(options: LiveRecorderOf): LiveRecorder {
  const { source, format, drafts, now, onTrouble, onFault } = options;
  let inHand: InHand | null = null;
  let buffer: string[] = [];
  let buffered = 0;
  let chunks = 0;
  let unparsed = 0;
  let bufferedLines = 0;
  let keptLines = 0;
  let trouble: string | null = null;
  let latest: GaugeReading | null = null;
  const pace = paceMeter();

  const keep = (text: string, lines = 1): void => {
    buffer.push(text);
    bufferedLines += lines;
    buffered += text.length;
    if (buffered > MOST_BUFFERED) flush();
  };
  const flush = (): void => {
    if (inHand === null || buffer.length === 0) return;
    try {
      drafts.keep(chunkKey(inHand.cell, chunks), new TextEncoder().encode(buffer.join('')));
      chunks++;
      keptLines += bufferedLines;
      emptied();
    } catch (error) {
      onFault(error as Error);
    }
  };
  const emptied = (): void => {
    buffer = [];
    buffered = 0;
    bufferedLines = 0;
  };
  const takeReading = (reading: GaugeReading, raw: string): void => {
    const ms = now();
    latest = reading;
    pace.count(ms);
    if (inHand === null) return;
    const since = Math.round(ms - inHand.enteredMs);
    keep(keptLine(since, raw));
    inHand.live.push({ ...reading, seconds: inHand.place(reading.seconds, since / 1000) });
  };
  const toldMs = new Map<SourceEvent['kind'], number>();
  /** A gauge that flickers is told of once a minute, not once a flicker. */
  const tell = (kind: SourceEvent['kind'], says: string): void => {
    const last = toldMs.get(kind) ?? Number.NEGATIVE_INFINITY;
    if (now() - last < TELL_AGAIN_MS) return;
    toldMs.set(kind, now());
    onTrouble(says);
  };
  const troubled = (kind: SourceEvent['kind'], says: string): void => {
    tell(kind, says);
    trouble = says;
  };
  const hear = (event: SourceEvent): void => {
    switch (event.kind) {
      case 'reading':
        if (trouble === noStrand) trouble = null;
        takeReading(event.reading, event.raw);
        break;
      case 'unparsed':
        unparsed++;
        if (inHand) keep(keptLine(now() - inHand.enteredMs, event.line));
        break;
      case 'beyond-belief':
        if (inHand && event.raw !== undefined) keep(keptLine(now() - inHand.enteredMs, event.raw));
        tell('beyond-belief', event.says);
        trouble = noStrand;
        break;
      case 'clock-jump':
        tell('clock-jump', jumpInWords(event.bySeconds));
        break;
      case 'back':
        if (trouble !== null)
          tell('back', `readings are back after ${duration(event.afterSeconds)}`);
        trouble = null;
        break;
      case 'silent':
        troubled('silent', silenceInWords(event.forSeconds));
        break;
      case 'stuck':
        troubled('stuck', stuckInWords(event.diameterMm, event.forSeconds));
        break;
      case 'lost':
        troubled('lost', `gauge lost: ${event.why}`);
    }
  };
  const listening: Listening = source.listen(hear);
  const take = (cell: number, enteredMs: number, live: LiveCell): void => {
    inHand = { cell, enteredMs, live, place: onCellTime() };
    keptLines = 0;
    emptied();
  };

  return {
    begin(cell, enteredMs, live) {
      // Under new settings a strand may come again; the next line tells.
      if (trouble === noStrand) trouble = null;
      drafts.forget(livePrefix);
      take(cell, enteredMs, live);
      chunks = 0;
      unparsed = 0;
      keep(liveLogHead(source.place) + stretchMark(now() - enteredMs), 0);
    },
    resume(cell, enteredMs, live) {
      take(cell, enteredMs, live);
      const before = drafts.drafts(`${livePrefix}${cell}/`);
      chunks = before.length === 0 ? 0 : Number(before.at(-1)!.key.split('/').at(-1)) + 1;
      const seen = replayed(joined(before), format, (reading) => live.push(reading));
      unparsed = seen.unparsed;
      keptLines = seen.lines;
      keep((chunks === 0 ? liveLogHead(source.place) : '') + stretchMark(now() - enteredMs), 0);
    },
    inHand: () => inHand,
    end() {
      if (inHand === null && chunks === 0) return;
      inHand = null;
      chunks = 0;
      keptLines = 0;
      emptied();
      drafts.forget(livePrefix);
    },
    flush,
    bytes() {
      if (inHand === null) return null;
      const tail = new TextEncoder().encode(buffer.join(''));
      const all = joined([...drafts.drafts(`${livePrefix}${inHand.cell}/`), { bytes: tail }]);
      return inHand.live.readings > 0 || unparsed > 0 ? all : null;
    },
    view: () => ({
      place: source.place,
      trouble,
      isHeard: latest !== null,
      diameterMm: latest?.diameterMm ?? null,
      perSecond: pace.perSecond(now()),
      lastMinute: inHand?.live.lastMinute() ?? new Float64Array(0),
      lights: inHand?.live.lights() ?? null,
      window: inHand?.live.window() ?? null,
      unparsed,
      keptLines,
    }),
    async stop() {
      await listening.stop();
      flush();
    },
  };
}

/**
 * The latest moment that a study knows of: its last entry, or the last line heard after it. Time goes
 * on from there, whatever the clock says.
 */
export function lastKnownMs({ store, state }: Pick<Journal, 'store' | 'state'>): number {
  const { lastAt, queue, cells } = state();
  const lastMs = Date.parse(lastAt);
  const cell = cells[(queue[0] ?? 0) - 1];
  const piece = cell && store.drafts.drafts(`${livePrefix}${cell.cell}/`).at(-1);
  if (!piece || !cell.enteredAt) return lastMs;
  const heardMs = lastLineMs(piece.bytes);
  return Number.isNaN(heardMs) ? lastMs : Math.max(lastMs, Date.parse(cell.enteredAt) + heardMs);
}

const noStrand = 'no strand at the gauge';

const stuckInWords = (diameterMm: number, forSeconds: number): string =>
  `the gauge has shown ${diameterMm.toFixed(3)} mm for ${duration(forSeconds)}: stuck?`;

const jumpInWords = (bySeconds: number): string =>
  `the gauge's clock was set ${bySeconds < 0 ? 'back' : 'ahead'} by ${duration(Math.abs(bySeconds))}; times here run on`;

export function joined(parts: readonly { readonly bytes: Uint8Array }[]): Uint8Array {
  const all = new Uint8Array(parts.reduce((sum, { bytes }) => sum + bytes.length, 0));
  let at = 0;
  for (const { bytes } of parts) {
    all.set(bytes, at);
    at += bytes.length;
  }
  return all;
}

/** Readings a second over about the last ten seconds. */
function paceMeter() {
  let counted = 0;
  let since = Number.NaN;
  let rate = 0;
  return {
    count(ms: number): void {
      if (Number.isNaN(since)) since = ms;
      counted++;
      if (ms - since < 10_000) return;
      rate = (1000 * counted) / (ms - since);
      counted = 0;
      since = ms;
    },
    perSecond: (ms: number): number =>
      rate > 0 ? rate : ms > since ? (1000 * counted) / (ms - since) : 0,
  };
}
