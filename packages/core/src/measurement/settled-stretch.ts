import { autocorrelations } from './autocorrelation.ts';
import { presentCount } from './descriptive.ts';
import { evenlySpaced, usualStepSeconds } from './even-grid.ts';
import { blockMeans, headCut } from './head-cut.ts';
import type { GaugeLog } from './log.ts';
import { type Spread, spreadOf } from './spread.ts';
import { cutLog } from './stretch.ts';
import { trendOf } from './trend.ts';
import { MOVING_RATIO, varianceRatio } from './variance-ratio.ts';
import { duration, lengthInMicrometres } from './words.ts';

export interface SettlingContext {
  readonly screwRpm: number;
  /** When zones and flush are done; nothing earlier is used. s from the first reading. */
  readonly notBeforeSeconds?: number;
  readonly notAfterSeconds?: number;
}

/** The shortest stretch that can be measured, and which rule makes it so. */
export interface NeededWindow {
  readonly seconds: number;
  readonly because: string;
}

/** The part of a log that may be measured, or why there is none. */
export type SettledStretch =
  | {
      readonly kind: 'settled';
      readonly fromSeconds: number;
      readonly toSeconds: number;
      readonly needed: NeededWindow;
      readonly why: string;
    }
  | {
      readonly kind: 'too-short';
      readonly haveSeconds: number;
      readonly needed: NeededWindow;
      readonly says: string;
    }
  | {
      readonly kind: 'never-settled';
      readonly driftMmPerMinute: number;
      readonly says: string;
    };

/** Common practice, no source: shortest window, and screw turns in it. */
export const SHORTEST_WINDOW_SECONDS = 300;
export const FEWEST_TURNS = 30;
/** Windows hold at least this many correlation times, so that s has ten independent looks. */
const CORRELATION_TIMES = 10;
/** A drift over the window below this share of s does not matter; common practice, no source. */
export const HARMLESS_DRIFT_SHARE = 0.25;
/** Standard errors beyond which a drift or a change of spread is taken as real. */
const CLEAR_DRIFT = 2;
const CLEAR_CHANGE = 3;

/**
 * The latest stretch in which the strand stood still, long enough to measure.
 *
 * On averages over whole screw turns, the head is cut where the mean of the rest is best known; then
 * the start moves on, a tenth at a time, until the rest passes three tests: no drift that both
 * matters (a quarter of s over the window) and is clear of its standard error; no clear change of
 * spread or drift of puller speed from first half to second; a variance ratio that does not say
 * "moving", on averages made coarse enough (one, two or four turns) that neighbours no longer repeat
 * one another.
 *
 * @param log - a gauge log
 * @param context - screw speed, and when zones and flush were done
 * @throws {DomainError} `empty_stretch` when no reading lies after `notBeforeSeconds`
 */
export function settledStretch(log: GaugeLog, context: SettlingContext): SettledStretch {
  const part = cutLog(log, {
    fromSeconds: context.notBeforeSeconds ?? Number.NEGATIVE_INFINITY,
    toSeconds: context.notAfterSeconds ?? Number.POSITIVE_INFINITY,
  });
  const { screwRpm } = context;
  const have = part.seconds.at(-1)! - part.seconds[0]!;
  const base = neededWindow(screwRpm, 0);
  if (have < base.seconds || presentCount(part.diameterMm) < 30) return tooShort(have, base);
  const stepSeconds = usualStepSeconds(part.seconds);
  const grid = evenlySpaced(part.seconds, part.diameterMm, stepSeconds).values;
  const puller =
    part.pullerMmPerSecond &&
    evenlySpaced(part.seconds, part.pullerMmPerSecond, stepSeconds).values;
  const turn = readingsPerTurn(screwRpm, stepSeconds);
  const cut = headCut(blockMeans(grid, turn));
  let from = cut.kind === 'cut' ? cut.at * turn : Math.floor(grid.length / 2 / turn) * turn;
  const started = from;
  let reason: Unsettled | undefined;
  for (;;) {
    const window = (grid.length - 1 - from) * stepSeconds;
    if (window < base.seconds) break;
    const verdict = judge(grid.subarray(from), puller?.subarray(from), stepSeconds, screwRpm);
    if (verdict.kind === 'still') {
      const needed = neededWindow(screwRpm, verdict.spread?.correlationSeconds ?? 0);
      if (window < needed.seconds) return tooShort(window, needed);
      return {
        kind: 'settled',
        fromSeconds: part.seconds[0]! + from * stepSeconds,
        toSeconds: part.seconds.at(-1)!,
        needed,
        why: whySettled(from * stepSeconds, window, needed),
      };
    }
    reason ??= verdict;
    from += Math.max(turn, Math.floor((grid.length - from) / 10 / turn) * turn);
  }
  reason ??= judgeTail(grid.subarray(started), stepSeconds);
  return {
    kind: 'never-settled',
    driftMmPerMinute: reason.driftMmPerMinute,
    says: `The strand has not settled in ${duration(have)}: ${reason.says}. Hold longer, or find what moves.`,
  };
}

/** The longest of 300 s, 30 screw turns and ten correlation times. */
export function neededWindow(screwRpm: number, correlationSeconds: number): NeededWindow {
  const turns = screwRpm > 0 ? (FEWEST_TURNS * 60) / screwRpm : 0;
  const repeats = CORRELATION_TIMES * correlationSeconds;
  const seconds = Math.max(SHORTEST_WINDOW_SECONDS, turns, repeats);
  const because =
    seconds === turns
      ? `${FEWEST_TURNS} turns at ${screwRpm} rpm`
      : seconds === repeats
        ? `ten times the ${duration(correlationSeconds)} over which readings repeat one another`
        : 'the shortest window of five minutes';
  return { seconds, because };
}

/** Readings in one screw turn, at least one; one when the screw speed is unknown. */
export function readingsPerTurn(screwRpm: number, stepSeconds: number): number {
  return screwRpm > 0 ? Math.max(1, Math.round(60 / screwRpm / stepSeconds)) : 1;
}

function tooShort(have: number, needed: NeededWindow): SettledStretch {
  return {
    kind: 'too-short',
    haveSeconds: have,
    needed,
    says: `The settled part lasts ${duration(have)}; ${duration(needed.seconds)} are needed (${needed.because}). Measure ${duration(needed.seconds - have)} longer.`,
  };
}

function whySettled(cutSeconds: number, window: number, needed: NeededWindow): string {
  const head =
    cutSeconds > 0 ? `the first ${duration(cutSeconds)} were still moving` : 'no head cut';
  return `${duration(window)} without drift or change of spread (${head}; ${duration(needed.seconds)} needed: ${needed.because})`;
}

interface Unsettled {
  readonly kind: 'moving';
  readonly driftMmPerMinute: number;
  readonly says: string;
}
type Verdict = { readonly kind: 'still'; readonly spread: Spread | undefined } | Unsettled;

function judge(
  x: Float64Array,
  puller: Float64Array | undefined,
  stepSeconds: number,
  screwRpm: number,
): Verdict {
  const spread = spreadOf(x, stepSeconds, screwRpm);
  // A gauge that never moves has no drift to find; measuring says what is wrong with it.
  if (spread === undefined) return { kind: 'still', spread };
  const minutes = ((x.length - 1) * stepSeconds) / 60;
  const { perMinute, standardErrorPerMinute, residualSd } = trendOf(x, stepSeconds);
  const moving = (says: string): Unsettled => ({
    kind: 'moving',
    driftMmPerMinute: perMinute,
    says,
  });
  const matters = Math.abs(perMinute) * minutes > HARMLESS_DRIFT_SHARE * residualSd;
  if (matters && Math.abs(perMinute) > CLEAR_DRIFT * standardErrorPerMinute) {
    return moving(`diameter drifts ${lengthInMicrometres(perMinute)} a minute`);
  }
  const half = x.length >> 1;
  const first = spreadOf(x.subarray(0, half), stepSeconds, screwRpm);
  const second = spreadOf(x.subarray(half), stepSeconds, screwRpm);
  if (first && second) {
    const error = Math.sqrt(first.lnSdVariance + second.lnSdVariance);
    if (Math.abs(second.lnSd - first.lnSd) > CLEAR_CHANGE * error) {
      return moving(
        `its spread went from ${lengthInMicrometres(first.sd)} to ${lengthInMicrometres(second.sd)}`,
      );
    }
  }
  if (puller && presentCount(puller) >= 30 && isDrifting(puller, stepSeconds)) {
    return moving('puller speed drifts');
  }
  if (ratioAtEnd(x, readingsPerTurn(screwRpm, stepSeconds)) > MOVING_RATIO) {
    return moving('averages over screw turns wander more than their neighbours differ');
  }
  return { kind: 'still', spread };
}

function judgeTail(x: Float64Array, stepSeconds: number): Unsettled {
  const { perMinute } = trendOf(x, stepSeconds);
  return {
    kind: 'moving',
    driftMmPerMinute: perMinute,
    says: `the head of the log is still moving half way through, by ${lengthInMicrometres(perMinute)} a minute at the end`,
  };
}

function isDrifting(x: Float64Array, stepSeconds: number): boolean {
  if (spreadOf(x, stepSeconds, 0) === undefined) return false;
  const { perMinute, standardErrorPerMinute, residualSd } = trendOf(x, stepSeconds);
  const change = (Math.abs(perMinute) * ((x.length - 1) * stepSeconds)) / 60;
  return (
    change > HARMLESS_DRIFT_SHARE * residualSd &&
    Math.abs(perMinute) > CLEAR_CHANGE * standardErrorPerMinute
  );
}

/** Lag-one correlation below which averages count as independent for the variance ratio. */
export const INDEPENDENT_ENOUGH = 0.2;
/** Averages that the variance ratio needs before it says anything. */
export const FEWEST_AVERAGES = 15;

/** The last variance ratio on averages of one, two or four turns; 0 when none are independent. */
function ratioAtEnd(x: Float64Array, turn: number): number {
  for (const turns of [1, 2, 4]) {
    const averages = blockMeans(x, turn * turns).filter((value) => !Number.isNaN(value));
    if (averages.length < FEWEST_AVERAGES) return 0;
    if (averages.every((value) => value === averages[0])) return 0;
    if (Math.abs(autocorrelations(averages, 1)[1]!) >= INDEPENDENT_ENOUGH) continue;
    const ratio = varianceRatio();
    let last = 0;
    for (const value of averages) last = ratio.push(value);
    return Number.isNaN(last) ? 0 : last;
  }
  return 0;
}
