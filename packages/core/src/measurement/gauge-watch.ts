import type { GaugeReading } from './log.ts';
import type { SourceEvent } from './source-event.ts';
import { duration, lengthInMicrometres } from './words.ts';

export interface GaugeWatchOptions {
  /** Usual time between readings. Default 1 s. */
  readonly stepSeconds?: number;
  /** Silence worth telling. Default five steps, at least 5 s. */
  readonly silentAfterSeconds?: number;
  /** Same diameter worth telling. Default 60 s. */
  readonly stuckAfterSeconds?: number;
  /** What a strand on this line can measure. Default 0.5 to 5 mm. */
  readonly believableMm?: { readonly low: number; readonly high: number };
  /** Step of the gauge's clock against ours worth telling. Default 5 s. */
  readonly clockJumpSeconds?: number;
}

/** What the watch remembers between readings; a value, so that it can be stored and replayed. */
export interface GaugeWatchState {
  readonly startedAt: number;
  readonly lastHeardAt: number | undefined;
  readonly lastReadingSeconds: number | undefined;
  /** Gauge clock less ours, from the freshest reading so far. */
  readonly clockOffset: number;
  /** Silence at which to speak next. */
  readonly nextSilenceSeconds: number;
  readonly diameterMm: number;
  readonly sameSince: number;
  readonly nextStuckSeconds: number;
  readonly isAlarmed: boolean;
}

/** Something the watch has to say; a reading itself is passed on by the caller. */
export type WatchEvent = Exclude<SourceEvent, { kind: 'reading' | 'unparsed' | 'lost' }>;

export interface WatchStep {
  readonly state: GaugeWatchState;
  readonly events: readonly WatchEvent[];
}

/** A pure watch over a stream of readings; `now` is our clock in s, from any origin, never back. */
export interface GaugeWatch {
  start(now: number): GaugeWatchState;
  /**
   * Takes a reading. Lines that come in one burst are old but for the last; `isFresh` false keeps
   * them from being taken for a clock that runs ahead.
   */
  read(state: GaugeWatchState, reading: GaugeReading, now: number, isFresh?: boolean): WatchStep;
  /** Call about once a second while nothing comes. */
  tick(state: GaugeWatchState, now: number): WatchStep;
}

/**
 * Tells of silence, a stuck gauge, a jumping clock and diameters beyond belief. Silence and a stuck
 * gauge are told again each time they have doubled, and `back` once they end.
 */
export function gaugeWatch(options: GaugeWatchOptions = {}): GaugeWatch {
  const { stepSeconds = 1, stuckAfterSeconds = 60, clockJumpSeconds = 5 } = options;
  const silentAfterSeconds = options.silentAfterSeconds ?? Math.max(5, 5 * stepSeconds);
  const believable = options.believableMm ?? { low: 0.5, high: 5 };
  return {
    start: (now) => ({
      startedAt: now,
      lastHeardAt: undefined,
      lastReadingSeconds: undefined,
      clockOffset: Number.NaN,
      nextSilenceSeconds: silentAfterSeconds,
      diameterMm: Number.NaN,
      sameSince: now,
      nextStuckSeconds: stuckAfterSeconds,
      isAlarmed: false,
    }),
    tick(state, now) {
      const forSeconds = now - (state.lastHeardAt ?? state.startedAt);
      if (forSeconds < state.nextSilenceSeconds) return { state, events: [] };
      return {
        state: { ...state, nextSilenceSeconds: 2 * forSeconds, isAlarmed: true },
        events: [{ kind: 'silent', forSeconds }],
      };
    },
    read(state, reading, now, isFresh = true) {
      const events: WatchEvent[] = [];
      const { diameterMm } = reading;
      const heardAt = state.lastHeardAt;
      const wasSilent = state.nextSilenceSeconds > silentAfterSeconds;
      const isSame = diameterMm === state.diameterMm;
      const sameSince = isSame ? state.sameSince : now;
      const wasStuck = state.nextStuckSeconds > stuckAfterSeconds;
      if (state.isAlarmed && (wasSilent || (wasStuck && !isSame))) {
        const since = wasSilent ? (heardAt ?? state.startedAt) : state.sameSince;
        events.push({ kind: 'back', afterSeconds: now - since });
      }
      const jump = clockJump(state, reading, now, isFresh);
      const hasJumped = Math.abs(jump) >= clockJumpSeconds;
      if (hasJumped) events.push({ kind: 'clock-jump', bySeconds: jump });
      if (!(diameterMm >= believable.low && diameterMm <= believable.high)) {
        events.push({
          kind: 'beyond-belief',
          diameterMm,
          says: beyondBelief(diameterMm, believable),
        });
      }
      const sameFor = now - sameSince;
      let nextStuckSeconds = isSame ? state.nextStuckSeconds : stuckAfterSeconds;
      if (sameFor >= nextStuckSeconds) {
        events.push({ kind: 'stuck', diameterMm, forSeconds: sameFor });
        nextStuckSeconds = 2 * sameFor;
      }
      return {
        events,
        state: {
          ...state,
          lastHeardAt: now,
          lastReadingSeconds: reading.seconds,
          clockOffset: nextOffset(state, reading.seconds - now, isFresh, hasJumped),
          nextSilenceSeconds: silentAfterSeconds,
          diameterMm,
          sameSince,
          nextStuckSeconds,
          isAlarmed: nextStuckSeconds > stuckAfterSeconds,
        },
      };
    },
  };
}

/**
 * How far the gauge's clock moved against ours. A late line is no jump, so back means back on the
 * gauge's own clock, and ahead means fresher than the freshest reading before.
 */
function clockJump(
  state: GaugeWatchState,
  reading: GaugeReading,
  now: number,
  isFresh: boolean,
): number {
  const { lastReadingSeconds: last, lastHeardAt: heardAt, clockOffset } = state;
  if (last === undefined || heardAt === undefined) return 0;
  if (reading.seconds < last) return reading.seconds - last - (now - heardAt);
  const ahead = reading.seconds - now - clockOffset;
  return isFresh && ahead > 0 ? ahead : 0;
}

function nextOffset(
  { clockOffset }: GaugeWatchState,
  offset: number,
  isFresh: boolean,
  hasJumped: boolean,
): number {
  if (hasJumped) return offset;
  if (!isFresh) return clockOffset;
  return Number.isNaN(clockOffset) ? offset : Math.max(clockOffset, offset);
}

function beyondBelief(mm: number, { low, high }: { low: number; high: number }): string {
  if (Number.isNaN(mm)) return 'the gauge gives no diameter';
  if (mm <= 0) return 'the gauge sees no strand; thread it through or clean the window';
  const seen = mm >= 1 ? `${mm.toFixed(2)} mm` : lengthInMicrometres(mm);
  return mm < low
    ? `${seen} is thinner than any strand here (${low} mm): a break, or the strand beside the beam`
    : `${seen} is thicker than any strand here (${high} mm): a lump, two strands, or a wrong unit`;
}

/** Silence in words, for the screens. */
export function silenceInWords(forSeconds: number): string {
  return `no reading for ${duration(forSeconds)}; look at the gauge's power and cable`;
}
