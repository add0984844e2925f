import {
  blockMeans,
  type causeOf,
  DomainError,
  evenlySpaced,
  type GaugeLog,
  type GaugeReading,
  neededWindow,
  outsideTolerance,
  periodicParts,
  presentCount,
  type SettlingLights,
  type SettlingWatchOptions,
  sampleVariance,
  settlingWatch,
  spreadOf,
  strandMetres,
  trendOf,
  usualStepSeconds,
} from '@strandwise/core';
import { growingLog } from './growing-log.ts';

/** What must be known of a cell to follow it. Times are seconds since its settings were entered. */
export interface LiveCellOf {
  readonly watch: Omit<SettlingWatchOptions, 'changedAtSeconds'>;
  readonly targetMm: number;
  readonly toleranceMm: number;
  /** From die to gauge, for naming a puller loop that hunts. */
  readonly dieToGaugeMm: number;
  /** The plan's own measuring time; a window is never shorter than its rule asks. */
  readonly leastWindowSeconds: number;
}

/** The measured stretch so far. */
export interface WindowSoFar {
  readonly seconds: number;
  readonly neededSeconds: number;
  readonly because: string;
  readonly trace: Float64Array;
  readonly metres: number | null;
  /** Null until there is enough to say. */
  readonly figures: {
    readonly sdMm: number;
    readonly effectiveN: number;
    readonly outsideShare: number;
    readonly trendMmPerMinute: number;
  } | null;
  readonly ripple: string | null;
}

export interface LiveCell {
  push(reading: GaugeReading): void;
  /** From here on the strand is measured; null while it is held. */
  measureFrom(seconds: number | null): void;
  lights(): SettlingLights | null;
  /** Diameters of the last minute, oldest first. */
  lastMinute(): Float64Array;
  /** Readings a second over the last minute; 0 before there are two. */
  perSecond(): number;
  window(): WindowSoFar | null;
  readonly readings: number;
}

const FEWEST_FOR_FIGURES = 30;
/** Readings that figures on the screen are worked out from; more would hold up the keys. */
const MOST_LOOKED_AT = 2000;
/** Figures are worked out again when this many times their own cost has passed. */
const IDLE_SHARE = 20;
const LEAST_MS = 1000;

/** Follows one cell reading by reading: the three lights, then the window. */
export function liveCell(
  { watch, targetMm, toleranceMm, dieToGaugeMm, leastWindowSeconds }: LiveCellOf,
  ticking: () => number = () => performance.now(),
): LiveCell {
  const log = growingLog();
  const settling = settlingWatch({ ...watch, changedAtSeconds: 0 });
  let lights: SettlingLights | null = null;
  let from: number | null = null;
  let known: Known = nothingKnown;
  let nextAt = 0;

  const study = (part: GaugeLog): void => {
    const started = ticking();
    if (started < nextAt) return;
    try {
      known = figuresOf(part, { screwRpm: watch.screwRpm, targetMm, toleranceMm, dieToGaugeMm });
    } catch (error) {
      // Figures are a look in passing: what they cannot say of odd readings must not end a walk.
      if (!(error instanceof DomainError)) throw error;
      known = nothingKnown;
    }
    nextAt = ticking() + Math.max(LEAST_MS, IDLE_SHARE * (ticking() - started));
  };

  return {
    push(reading) {
      log.push(reading);
      lights = settling.push(reading);
    },
    measureFrom(seconds) {
      if (from !== seconds) known = nothingKnown;
      nextAt = 0;
      from = seconds;
    },
    lights: () => lights,
    lastMinute() {
      const last = log.last();
      return last ? log.since(last.seconds - 60).diameterMm : new Float64Array(0);
    },
    perSecond() {
      const last = log.last();
      const seconds = last ? log.since(last.seconds - 60).seconds : new Float64Array(0);
      const span = seconds.length > 1 ? last!.seconds - seconds[0]! : 0;
      return span > 0 ? (seconds.length - 1) / span : 0;
    },
    window() {
      if (from === null) return null;
      const part = log.since(from);
      if (part.seconds.length >= FEWEST_FOR_FIGURES) study(part);
      const needed = neededWindow(watch.screwRpm, known.correlationSeconds);
      const isPlan = leastWindowSeconds > needed.seconds;
      return {
        // What was heard counts: a silent gauge does not fill a window.
        seconds: part.seconds.length > 1 ? part.seconds.at(-1)! - part.seconds[0]! : 0,
        neededSeconds: isPlan ? leastWindowSeconds : needed.seconds,
        because: isPlan ? 'the measuring time of this line' : needed.because,
        trace: part.diameterMm,
        metres: known.metres,
        figures: known.figures,
        ripple: known.ripple,
      };
    },
    get readings() {
      return log.length;
    },
  };
}

type Known = Pick<WindowSoFar, 'figures' | 'ripple' | 'metres'> & {
  readonly correlationSeconds: number;
};
const nothingKnown: Known = { figures: null, ripple: null, metres: null, correlationSeconds: 0 };

function figuresOf(
  part: GaugeLog,
  of: Pick<LiveCellOf, 'targetMm' | 'toleranceMm' | 'dieToGaugeMm'> & { readonly screwRpm: number },
): Known {
  const { screwRpm, targetMm, toleranceMm } = of;
  const stepSeconds = usualStepSeconds(part.seconds);
  if (!(stepSeconds > 0)) return nothingKnown;
  const every = evenlySpaced(part.seconds, part.diameterMm, stepSeconds).values;
  // A fast gauge is looked at through means of neighbours; what is kept is measured in full.
  const factor = Math.ceil(every.length / MOST_LOOKED_AT);
  const grid = factor > 1 ? blockMeans(every, factor) : every;
  const step = factor * stepSeconds;
  const spread =
    presentCount(grid) >= FEWEST_FOR_FIGURES ? spreadOf(grid, step, screwRpm) : undefined;
  const metres = strandMetres(part) ?? null;
  if (!spread) return { ...nothingKnown, metres };
  return {
    figures: {
      sdMm: factor > 1 ? Math.sqrt(sampleVariance(every)) : spread.sd,
      effectiveN: spread.effectiveNForVariance,
      outsideShare: outsideTolerance(part, { targetMm, toleranceMm }).share,
      trendMmPerMinute: trendOf(grid, step).perMinute,
    },
    metres,
    ripple: rippleOf(grid, step, part, of),
    correlationSeconds: spread.correlationSeconds,
  };
}

/** The clearest wave and what it suggests; a minute and a half is the least that can show one. */
function rippleOf(
  grid: Float64Array,
  stepSeconds: number,
  { pullerMmPerSecond }: GaugeLog,
  { screwRpm, dieToGaugeMm }: { readonly screwRpm: number; readonly dieToGaugeMm: number },
): string | null {
  // Counted in values that are there: a gauge that was away leaves gaps.
  if (presentCount(grid) < 90) return null;
  const speed = pullerMmPerSecond?.at(-1) ?? Number.NaN;
  const turning: Parameters<typeof causeOf>[2] = {
    screwRpm,
    stepSeconds,
    ...(speed > 0 ? { deadTimeSeconds: dieToGaugeMm / speed } : {}),
  };
  const wave = periodicParts(grid, stepSeconds, { turning }).parts[0];
  return wave ? `${(1000 * wave.amplitude).toFixed(0)} µm. ${wave.hint}` : null;
}
