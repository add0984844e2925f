import { z } from 'zod';
import { DomainError } from '../error/domain-error.ts';
import {
  mean,
  presentCount,
  quantileOfSorted,
  robustSd,
  sortedPresent,
  spikesAt,
} from './descriptive.ts';
import { evenlySpaced, usualStepSeconds } from './even-grid.ts';
import { floorStanding, gaugeFloor } from './gauge-floor.ts';
import type { GaugeLog } from './log.ts';
import { varianceSplit } from './spectrum.ts';
import { spreadOf } from './spread.ts';
import { cutLog, type LogStretch } from './stretch.ts';
import { outsideTolerance, strandMetres } from './tolerance.ts';
import { trendOf } from './trend.ts';

/** What must be known beside the log to read it. */
export interface MeasuringContext {
  readonly screwRpm: number;
  readonly gauge: { readonly sdMm: number; readonly resolutionMm: number; readonly axes: 1 | 2 };
  readonly targetMm?: number;
  readonly toleranceMm?: number;
  readonly densityGPerCm3?: number;
  /** Constant puller speed, for logs without a puller column. */
  readonly pullerMmPerSecond?: number;
  /** Largest less smallest diameter by calliper, for single-axis gauges. */
  readonly ovalityMm?: number;
}

const nonNegative = z.number().nonnegative();

/**
 * What a settled stretch says, the one object that fits use. Units stand in the names. A figure that
 * the log cannot give is absent and `cannotSay` says why; nothing is ever NaN.
 */
export const MeasuredResponses = z.strictObject({
  fromSeconds: z.number(),
  toSeconds: z.number(),
  readings: z.int().positive(),
  missingReadings: z.int().nonnegative(),
  /** Flagged and counted, still inside every figure but the robust SD. */
  spikes: z.int().nonnegative(),
  strandMetres: nonNegative.optional(),

  diameterMeanMm: z.number(),
  diameterMeanStandardErrorMm: nonNegative.optional(),
  diameterOffsetMm: z.number().optional(),
  diameterSdMm: nonNegative,
  diameterRobustSdMm: nonNegative,
  diameterLnSd: z.number().optional(),
  /** Sampling variance of ln SD; its inverse is the weight in a fit. */
  diameterLnSdVariance: z.number().positive().optional(),
  diameterLnSdWeight: z.number().positive().optional(),
  effectiveNForMean: z.number().min(1).optional(),
  effectiveNForVariance: z.number().min(1).optional(),
  correlationSeconds: z.number().positive().optional(),
  diameterTrendMmPerMinute: z.number().optional(),
  diameterTrendStandardErrorMmPerMinute: nonNegative.optional(),

  /** The SD by cause; squares of the four sum to the square of `diameterSdMm`. */
  screwTurnSdMm: nonNegative.optional(),
  slowSdMm: nonNegative.optional(),
  middleSdMm: nonNegative.optional(),
  fastSdMm: nonNegative.optional(),

  gaugeFloorSdMm: nonNegative,
  floor: z.enum(['clear', 'near-floor', 'at-floor']),

  pullerMeanMmPerSecond: z.number().optional(),
  pullerCv: nonNegative.optional(),
  pullerLnCv: z.number().optional(),
  pullerLnCvVariance: z.number().positive().optional(),
  outputGPerSecond: nonNegative.optional(),
  outputKgPerHour: nonNegative.optional(),

  shareOutsideTolerance: z.number().min(0).max(1).optional(),
  longestOutsideMetres: nonNegative.optional(),
  ovalityMeanMm: nonNegative.optional(),
  ovality95Mm: nonNegative.optional(),

  cannotSay: z.array(z.string()),
});
export type MeasuredResponses = z.infer<typeof MeasuredResponses>;

/** Fewest readings that make a stretch worth a figure. */
const FEWEST_READINGS = 30;

/**
 * Every response that a stretch of log can give.
 *
 * @param log - a gauge log
 * @param stretch - the settled part to measure; s from the first reading
 * @param context - screw speed, gauge and, where wanted, target, tolerance, density
 * @throws {DomainError} `empty_stretch` when no reading lies inside
 * @throws {DomainError} `too_few_values` when fewer than 30 diameters are present
 */
export function measuredResponses(
  log: GaugeLog,
  stretch: LogStretch,
  context: MeasuringContext,
): MeasuredResponses {
  const part = cutLog(log, stretch);
  const present = presentCount(part.diameterMm);
  if (present < FEWEST_READINGS) {
    throw new DomainError(
      'too_few_values',
      `measuredResponses: the stretch must hold at least ${FEWEST_READINGS} diameters; got ${present} (${stretch.fromSeconds} s to ${stretch.toSeconds} s). Measure longer.`,
      { least: FEWEST_READINGS, got: present },
    );
  }
  const cannotSay: string[] = [];
  const stepSeconds = usualStepSeconds(part.seconds);
  return {
    fromSeconds: part.seconds[0]!,
    toSeconds: part.seconds.at(-1)!,
    readings: present,
    missingReadings: part.diameterMm.length - present,
    spikes: spikesAt(part.diameterMm, { smallestStep: context.gauge.resolutionMm }).length,
    ...withValue('strandMetres', strandMetres(part, context.pullerMmPerSecond)),
    ...diameterFigures(part, stepSeconds, context, cannotSay),
    ...pullerFigures(part, stepSeconds, context, cannotSay),
    ...outputFigures(part, context, cannotSay),
    ...toleranceFigures(part, context),
    ...ovalityFigures(part),
    cannotSay,
  };
}

function diameterFigures(
  log: GaugeLog,
  stepSeconds: number,
  context: MeasuringContext,
  cannotSay: string[],
) {
  const grid = evenlySpaced(log.seconds, log.diameterMm, stepSeconds).values;
  const diameterMeanMm = mean(log.diameterMm);
  const spread = spreadOf(grid, stepSeconds, context.screwRpm);
  const floor = gaugeFloor({ ...context.gauge, ovalityMm: context.ovalityMm });
  if (context.gauge.axes === 1 && context.ovalityMm === undefined) {
    cannotSay.push('ovality: one axis only, so the floor leaves out what an oval strand adds');
  }
  const common = {
    diameterMeanMm,
    ...(context.targetMm !== undefined && { diameterOffsetMm: diameterMeanMm - context.targetMm }),
    diameterSdMm: spread?.sd ?? 0,
    diameterRobustSdMm: robustSd(log.diameterMm),
    gaugeFloorSdMm: floor.sdMm,
    floor: floorStanding(spread?.sd ?? 0, floor).kind,
  };
  if (spread === undefined) {
    cannotSay.push(
      'ln SD of diameter: every reading is the same; the gauge is stuck or too coarse for this strand',
    );
    return common;
  }
  const trend = trendOf(grid, stepSeconds);
  const split = varianceSplit(grid, stepSeconds, context.screwRpm);
  return {
    ...common,
    diameterMeanStandardErrorMm: spread.meanStandardError,
    diameterLnSd: spread.lnSd,
    diameterLnSdVariance: spread.lnSdVariance,
    diameterLnSdWeight: 1 / spread.lnSdVariance,
    effectiveNForMean: spread.effectiveNForMean,
    effectiveNForVariance: spread.effectiveNForVariance,
    correlationSeconds: spread.correlationSeconds,
    diameterTrendMmPerMinute: trend.perMinute,
    diameterTrendStandardErrorMmPerMinute: trend.standardErrorPerMinute,
    screwTurnSdMm: Math.sqrt(split.screwTurn),
    slowSdMm: Math.sqrt(split.slow),
    middleSdMm: Math.sqrt(split.middle),
    fastSdMm: Math.sqrt(split.fast),
  };
}

function pullerFigures(
  { seconds, pullerMmPerSecond: puller }: GaugeLog,
  stepSeconds: number,
  context: MeasuringContext,
  cannotSay: string[],
) {
  if (puller === undefined || presentCount(puller) < FEWEST_READINGS) {
    cannotSay.push('CV of puller speed: the log has no puller speed for this stretch');
    return context.pullerMmPerSecond === undefined
      ? {}
      : { pullerMeanMmPerSecond: context.pullerMmPerSecond };
  }
  const pullerMeanMmPerSecond = mean(puller);
  if (!(pullerMeanMmPerSecond > 0)) {
    cannotSay.push('CV of puller speed: the puller stood still');
    return { pullerMeanMmPerSecond };
  }
  const grid = evenlySpaced(seconds, puller, stepSeconds).values;
  const spread = spreadOf(grid, stepSeconds, context.screwRpm);
  if (spread === undefined) {
    cannotSay.push(
      'ln CV of puller speed: the speed never changed (puller loop off, or a set value)',
    );
    return { pullerMeanMmPerSecond, pullerCv: 0 };
  }
  return {
    pullerMeanMmPerSecond,
    pullerCv: spread.sd / pullerMeanMmPerSecond,
    pullerLnCv: spread.lnSd - Math.log(pullerMeanMmPerSecond),
    // Var(ln s − ln v̄): the mean's own relative variance adds, as the two are near independent.
    pullerLnCvVariance:
      spread.lnSdVariance + (spread.meanStandardError / pullerMeanMmPerSecond) ** 2,
  };
}

/** π/4·d²·v is mm³/s of solid strand; a thousandth of it times g/cm³ is g/s. */
function outputFigures(log: GaugeLog, context: MeasuringContext, cannotSay: string[]) {
  const { diameterMm, pullerMmPerSecond: puller } = log;
  const { densityGPerCm3 } = context;
  if (densityGPerCm3 === undefined) {
    cannotSay.push('output rate: the density of the solid strand is not given');
    return {};
  }
  const volume = diameterMm.map(
    (d, i) => (Math.PI / 4) * d * d * (puller?.[i] ?? context.pullerMmPerSecond ?? Number.NaN),
  );
  if (presentCount(volume) === 0) {
    cannotSay.push('output rate: no puller speed is known');
    return {};
  }
  const outputGPerSecond = Math.max(0, (mean(volume) / 1000) * densityGPerCm3);
  return { outputGPerSecond, outputKgPerHour: outputGPerSecond * 3.6 };
}

function toleranceFigures(log: GaugeLog, context: MeasuringContext) {
  const { targetMm, toleranceMm, pullerMmPerSecond } = context;
  if (targetMm === undefined || toleranceMm === undefined) return {};
  const outside = outsideTolerance(log, { targetMm, toleranceMm, pullerMmPerSecond });
  return {
    shareOutsideTolerance: outside.share,
    ...withValue('longestOutsideMetres', outside.longestMetres),
  };
}

function ovalityFigures({ ovalityMm }: GaugeLog) {
  if (ovalityMm === undefined || presentCount(ovalityMm) === 0) return {};
  return {
    ovalityMeanMm: mean(ovalityMm),
    ovality95Mm: quantileOfSorted(sortedPresent(ovalityMm), 0.95),
  };
}

function withValue<K extends string, V>(key: K, value: V | undefined): { [P in K]?: V } {
  return value === undefined ? {} : ({ [key]: value } as { [P in K]?: V });
}
