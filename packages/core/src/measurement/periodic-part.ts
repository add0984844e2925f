import { DomainError } from '../error/domain-error.ts';
import { autocorrelations } from './autocorrelation.ts';
import { presentCount, sampleVariance } from './descriptive.ts';
import { finePowers } from './fourier.ts';
import { causeOf, type PeriodicCause, type Turning } from './periodic-cause.ts';
import { harmonicFit } from './screw-line.ts';
import { centred, powerAt } from './spectrum.ts';

/** A wave found in a log. */
export interface PeriodicPart {
  readonly periodSeconds: number;
  /** Half of peak to peak; unit of the column. */
  readonly amplitude: number;
  /** Chance that noise alone shows a wave this clear anywhere in the log. */
  readonly falseAlarmProbability: number;
  readonly cause: PeriodicCause;
  /** What it suggests, one sentence. */
  readonly hint: string;
}

export interface PeriodicSearch {
  /** Waves, the clearest first; empty when noise explains the log. */
  readonly parts: readonly PeriodicPart[];
  /** Share of logs of pure noise that would show a wave; as asked for. */
  readonly falseAlarmRate: number;
  readonly says: string;
}

/** Most waves named in one log; more would be a description of noise. */
const MOST_PARTS = 6;
/** Neighbours on each side that tell the noise level beside a line, in Fourier steps. */
const NEAREST = 3;
const FARTHEST = 14;
/** Covers the lag-one correlation being estimated; keeps the rate below the stated one. */
const SEARCH_MARGIN = 1.5;
/** A wave must come round this often in the log. */
const LEAST_CYCLES = 3;

/**
 * Finds periodic parts at a stated rate of false alarms.
 *
 * A straight drift is taken out; the periodogram is divided by the spectrum of first-order
 * autoregressive noise with the log's own lag-one correlation; each frequency is then compared with
 * the mean of its 2K neighbours, so that the ratio r follows F(2, 4K) with tail (1 + r/2K)^(−2K). The
 * search over all frequencies costs a factor (n/2)·√(πz/3) at z = −ln p (Davies 1987; Baluev 2008).
 * A wave that passes is fitted, taken out, and the search repeated on the rest.
 *
 * @param x - evenly spaced values, NaN where missing, shape (n), n >= 64
 * @param stepSeconds - time between values; s
 * @param options.falseAlarmRate - share of clean logs that may show a wave; 0 to 1, default 0.01
 * @param options.turning - what turns on the line, to name the wave
 * @throws {DomainError} `too_few_values` when fewer than 64 values are present
 * @accuracy at a stated 1 %, 0.3 to 0.8 % of 4,000 logs of first-order noise (φ 0 to 0.95) raise a false
 *   alarm; tests/bench/measurement-tables.bench.ts
 * @source Davies (1987), Biometrika 74; Baluev (2008), MNRAS 385 (both from memory)
 */
export function periodicParts(
  x: Float64Array,
  stepSeconds: number,
  options: { readonly falseAlarmRate?: number; readonly turning?: Turning } = {},
): PeriodicSearch {
  const { falseAlarmRate = 0.01, turning = {} } = options;
  const n = presentCount(x);
  if (n < 64) {
    throw new DomainError(
      'too_few_values',
      `periodicParts: the column must hold at least 64 present values; got ${n}. Take a longer stretch.`,
      { least: 64, got: n },
    );
  }
  const parts: PeriodicPart[] = [];
  let rest = withoutDrift(x);
  const whole = sampleVariance(rest);
  while (parts.length < MOST_PARTS && sampleVariance(rest) > 1e-12 * whole) {
    const peak = clearestPeak(rest);
    if (peak === undefined || peak.probability > falseAlarmRate) break;
    const fit = harmonicFit(rest, peak.frequency, 1);
    const periodSeconds = stepSeconds / peak.frequency;
    const spanSeconds = x.length * stepSeconds;
    parts.push({
      periodSeconds,
      amplitude: fit.amplitudes[0]!,
      falseAlarmProbability: peak.probability,
      ...causeOf(periodSeconds, spanSeconds, turning),
    });
    rest = fit.remainder;
  }
  return { parts, falseAlarmRate, says: inWords(parts, falseAlarmRate) };
}

function inWords(parts: readonly PeriodicPart[], rate: number): string {
  if (parts.length === 0) {
    return `no wave stands out of the noise (at ${rate * 100} % false alarms a log)`;
  }
  return parts.map((part) => part.hint).join(' ');
}

function withoutDrift(x: Float64Array): Float64Array {
  const d = centred(x);
  const middle = (x.length - 1) / 2;
  let tt = 0;
  let tx = 0;
  for (let i = 0; i < d.length; i++) {
    tt += (i - middle) ** 2;
    tx += (i - middle) * d[i]!;
  }
  return x.map((value, i) => value - (tx / tt) * (i - middle));
}

function clearestPeak(
  x: Float64Array,
): { readonly frequency: number; readonly probability: number } | undefined {
  const n = x.length;
  const d = centred(x);
  const phi = Math.min(0.98, Math.max(-0.98, autocorrelations(x, 1)[1]!));
  const { size, power } = finePowers(d);
  const white = power.map(
    (p, k) => p * (1 + phi * phi - 2 * phi * Math.cos((2 * Math.PI * k) / size)),
  );
  const perBin = size / n;
  const from = Math.ceil(LEAST_CYCLES * perBin);
  const to = Math.floor(size / 2 - perBin);
  let best: { k: number; logTail: number } | undefined;
  for (let k = from; k <= to; k++) {
    // Only tops can be the answer, which spares most of the neighbour sums.
    if (white[k]! < white[k - 1]! || white[k]! < white[k + 1]!) continue;
    const logTail = logTailAt(white, k, perBin);
    if (best === undefined || logTail < best.logTail) best = { k, logTail };
  }
  if (best === undefined) return undefined;
  const z = -best.logTail;
  const tries = SEARCH_MARGIN * (1 + (n / 2) * Math.sqrt((Math.PI * Math.max(z, 1)) / 3));
  return {
    frequency: refined(d, best.k / size, 1 / size),
    probability: Math.min(1, tries * Math.exp(best.logTail)),
  };
}

/** ln of the F tail of one frequency against its neighbours on the Fourier grid. */
function logTailAt(white: Float64Array, k: number, perBin: number): number {
  let sum = 0;
  let count = 0;
  for (let step = NEAREST; step <= FARTHEST; step++) {
    const offset = Math.round(step * perBin);
    const low = k - offset;
    const high = k + offset;
    // Below one cycle the drift has been taken out, so there is nothing to compare with.
    if (low >= perBin) {
      sum += white[low]!;
      count++;
    }
    if (high < white.length) {
      sum += white[high]!;
      count++;
    }
  }
  if (!(sum > 0)) return 0;
  return -count * Math.log1p(white[k]! / sum);
}

/** Top of the periodogram within one fine step, by golden section. */
function refined(d: Float64Array, start: number, width: number): number {
  const ratio = (Math.sqrt(5) - 1) / 2;
  let low = start - width;
  let high = Math.min(0.4999, start + width);
  let a = high - ratio * (high - low);
  let b = low + ratio * (high - low);
  let pa = powerAt(d, a);
  let pb = powerAt(d, b);
  for (let i = 0; i < 24; i++) {
    if (pa > pb) {
      [high, b, pb] = [b, a, pa];
      a = high - ratio * (high - low);
      pa = powerAt(d, a);
    } else {
      [low, a, pa] = [a, b, pb];
      b = low + ratio * (high - low);
      pb = powerAt(d, b);
    }
  }
  return (low + high) / 2;
}
