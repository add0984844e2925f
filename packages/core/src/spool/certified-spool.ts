import { chiSquaredQuantile, chiSquaredUpperQuantile } from '../distribution/chi-squared.ts';
import { poissonUpperLimit } from '../distribution/poisson.ts';
import { tUpperQuantile } from '../distribution/student-t.ts';
import { mean, presentCount, quantileOfSorted, sortedPresent } from '../measurement/descriptive.ts';
import { evenlySpaced } from '../measurement/even-grid.ts';
import type { GaugeLog } from '../measurement/log.ts';
import { spreadOf } from '../measurement/spread.ts';
import type { AcceptanceLimits } from './acceptance.ts';
import { badMetres, type SpoolLength, spoolLength } from './bad-stretch.ts';
import {
  indices,
  nearerByPercentiles,
  nearerInterval,
  nearerNotBelow,
  spreadInterval,
} from './capability.ts';
import type { CertificateWords, SpoolCertificate } from './certificate.ts';
import { spoolDecision } from './decision.ts';
import { subgroupChart } from './subgroup-chart.ts';
import { freeToleranceInterval, normalToleranceInterval } from './tolerance-interval.ts';

type IndexPair = Omit<SpoolCertificate['performance'], 'nearerByPercentiles'>;
type SpoolEstimate = SpoolCertificate['mean'];

export interface CertificateOf {
  readonly log: GaugeLog;
  readonly limits: AcceptanceLimits;
  readonly words: CertificateWords;
  readonly screwRpm: number;
  /** For logs without a puller column. */
  readonly pullerMmPerSecond?: number;
  /** Period of the puller loop, s: a subgroup is not shorter. */
  readonly loopSeconds?: number;
  readonly bubbles?: { readonly count: number; readonly metres: number };
}

/** A certificate with what a strip chart needs beside it. */
export interface CertifiedSpool {
  readonly certificate: SpoolCertificate;
  readonly length: SpoolLength | null;
}

/** Subgroups are this many seconds long at least; common practice asks for a loop period, no source. */
const leastSubgroupSeconds = 120;
const mostStretches = 100;

/**
 * Certifies a spool from its whole log. Every interval counts how many independent readings the log is
 * worth, as neighbouring readings repeat one another.
 *
 * @throws {DomainError} `too_few_values` when the log holds fewer than 8 readings
 * @throws {DomainError} `no_spread` when the gauge never moved
 */
export function certifiedSpool(options: CertificateOf): CertifiedSpool {
  const { log, limits, words, screwRpm, bubbles } = options;
  const specification = {
    low: limits.diameterMm - limits.toleranceMm,
    high: limits.diameterMm + limits.toleranceMm,
  };
  const grid = evenlySpaced(log.seconds, log.diameterMm);
  const spread = spreadOf(grid.values, grid.stepSeconds, screwRpm);
  const centre = mean(log.diameterMm);
  const sd = spread?.sd ?? 0;
  const effective = {
    forMean: spread?.effectiveNForMean ?? 1,
    forVariance: Math.max(2, spread?.effectiveNForVariance ?? 2),
  };
  const sorted = sortedPresent(log.diameterMm);
  const length = spoolLength(log, specification, options.pullerMmPerSecond);
  const whole = indices(centre, sd, specification);
  const n = Math.max(2, Math.min(effective.forMean, effective.forVariance));
  const { content, confidence } = limits;
  const measured = {
    readings: sorted.length,
    missingReadings: log.diameterMm.length - presentCount(log.diameterMm),
    hours: (log.seconds.at(-1)! - log.seconds[0]!) / 3600,
    metres: length?.metres ?? null,
    unreadMetres: length?.unreadMetres ?? null,
    effective,
    mean: meanEstimate(centre, spread?.meanStandardError ?? 0, effective.forMean),
    sd: sdEstimate(sd, effective.forVariance),
    performance: {
      ...pairOf(whole, effective, confidence),
      nearerByPercentiles: nearerByPercentiles(sorted, specification, quantileOfSorted),
    },
    capability: capabilityOf(grid.values, grid.stepSeconds, specification, options),
    tolerance: {
      content,
      confidence,
      normal: normalToleranceInterval({ mean: centre, sd, n }, content, confidence),
      distributionFree: freeToleranceInterval(sorted, n, { content, confidence }),
    },
    outside: outsideOf(sorted, specification, length),
    ovality95Mm: log.ovalityMm ? quantileOfSorted(sortedPresent(log.ovalityMm), 0.95) : null,
    bubbles: bubbles
      ? { ...bubbles, rateNotAbove: poissonUpperLimit(bubbles.count, confidence) / bubbles.metres }
      : null,
  };
  const { accepted, reasons, cannotSay } = spoolDecision(measured, limits);
  const certificate: SpoolCertificate = {
    format: 'strandwise spool certificate',
    version: 1,
    ...words,
    limits,
    ...measured,
    accepted,
    reasons,
    cannotSay,
  };
  return { certificate, length };
}

function pairOf(
  whole: ReturnType<typeof indices>,
  effective: SpoolCertificate['effective'],
  confidence: number,
): IndexPair {
  return {
    spread: { value: whole.spread, ...spreadInterval(whole, effective) },
    nearer: { value: whole.nearer, ...nearerInterval(whole, effective) },
    nearerNotBelow: nearerNotBelow(whole, effective, confidence),
  };
}

function capabilityOf(
  values: Float64Array,
  stepSeconds: number,
  specification: { low: number; high: number },
  { loopSeconds = 0, screwRpm, limits }: CertificateOf,
): SpoolCertificate['capability'] {
  const turns = screwRpm > 0 ? (10 * 60) / screwRpm : 0;
  const seconds = Math.max(leastSubgroupSeconds, loopSeconds, turns);
  const chart = subgroupChart(values, Math.max(5, Math.round(seconds / stepSeconds)));
  if (chart.kind === 'too short') return chart;
  const { kind, says, sdWithin, effective, means } = chart;
  const subgroups = chart.subgroups.length;
  if (kind === 'not in control') return { kind, subgroups, says };
  const within = indices(means.centre, sdWithin, specification);
  return { kind, subgroups, says, sdWithin, ...pairOf(within, effective, limits.confidence) };
}

function meanEstimate(value: number, standardError: number, n: number): SpoolEstimate {
  const half = n > 1 ? tUpperQuantile(0.025, n - 1) * standardError : Number.POSITIVE_INFINITY;
  const bounded = Number.isFinite(half) ? half : 0;
  return { value, low: value - bounded, high: value + bounded };
}

function sdEstimate(value: number, n: number): SpoolEstimate {
  const df = n - 1;
  return {
    value,
    low: value * Math.sqrt(df / chiSquaredUpperQuantile(0.025, df)),
    high: value * Math.sqrt(df / chiSquaredQuantile(0.025, df)),
  };
}

function outsideOf(
  sorted: Float64Array,
  { low, high }: { low: number; high: number },
  length: SpoolLength | null,
): SpoolCertificate['outside'] {
  const outside = sorted.filter((value) => value < low - 1e-9 || value > high + 1e-9).length;
  const pieces = length ? badMetres(length.bad) : null;
  const longest = [...(length?.bad ?? [])]
    .sort((a, b) => b.toMetre - b.fromMetre - (a.toMetre - a.fromMetre))
    .slice(0, mostStretches)
    .sort((a, b) => a.fromMetre - b.fromMetre);
  return {
    share: outside / sorted.length,
    metres: pieces?.total ?? null,
    longestMetres: pieces?.longest ?? null,
    worstBeyondMm: Math.max(0, low - sorted[0]!, sorted.at(-1)! - high),
    pieces: length?.bad.length ?? 0,
    stretches: longest.map((piece) => ({ ...piece })),
  };
}
