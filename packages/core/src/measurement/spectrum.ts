import { mean, presentCount, sampleVariance } from './descriptive.ts';
import { harmonicFit } from './screw-line.ts';

/** Longer columns are cut into pieces of at most this length, as the transform here costs n². */
const LONGEST_PIECE = 4096;

/** Waves slower than this belong to moisture, room and puller loop; common practice, no source. */
export const SLOW_SECONDS = 60;
/** Waves faster than this belong to gauge, ovality and melt strength; common practice, no source. */
export const FAST_SECONDS = 10;

/** Sample variance by cause of the wave; the four parts sum to the whole. Unit of x squared. */
export interface VarianceSplit {
  readonly screwTurn: number;
  readonly slow: number;
  readonly middle: number;
  readonly fast: number;
}

/**
 * Squared modulus of the discrete Fourier transform at the Fourier frequencies j/n, j = 1 … ⌊n/2⌋,
 * scaled so that the entries sum to Σ(x − x̄)²/n. Missing values count as the mean.
 *
 * @param x - evenly spaced values, NaN where missing, shape (n)
 * @returns power per frequency, shape (⌊n/2⌋)
 */
export function periodogram(x: Float64Array): Float64Array {
  const n = x.length;
  const d = centred(x);
  const out = new Float64Array(n >> 1);
  for (let j = 1; j <= out.length; j++) {
    const isMirror = 2 * j === n;
    out[j - 1] = ((isMirror ? 1 : 2) * powerAt(d, j / n)) / (n * n);
  }
  return out;
}

/** The column less its mean, zero where missing. */
export function centred(x: Float64Array): Float64Array {
  const centre = mean(x);
  return x.map((value) => (Number.isNaN(value) ? 0 : value - centre));
}

/** |Σ d·exp(−2πi f t)|² at one frequency, by Goertzel's recurrence; d is centred. */
export function powerAt(d: Float64Array, cyclesPerReading: number): number {
  const c = 2 * Math.cos(2 * Math.PI * cyclesPerReading);
  let s1 = 0;
  let s2 = 0;
  for (let i = 0; i < d.length; i++) {
    const s0 = d[i]! + c * s1 - s2;
    s2 = s1;
    s1 = s0;
  }
  return Math.max(0, s1 * s1 + s2 * s2 - c * s1 * s2);
}

/**
 * Splits the sample variance of a column into the line at one screw turn (with its second harmonic)
 * and, of the rest, waves slower than 60 s, faster than 10 s, and between. The parts have different
 * causes: melting and feeding; moisture, room and puller loop; gauge, ovality and melt strength.
 *
 * @param x - evenly spaced values, NaN where missing, shape (n)
 * @param stepSeconds - time between values; s
 * @param screwRpm - screw speed; 1/min; 0 when unknown, which leaves the line in the other parts
 */
export function varianceSplit(
  x: Float64Array,
  stepSeconds: number,
  screwRpm: number,
): VarianceSplit {
  const whole = sampleVariance(x);
  const cyclesPerReading = (screwRpm / 60) * stepSeconds;
  const isSeen = cyclesPerReading > 0 && cyclesPerReading < 0.5;
  const remainder = isSeen ? harmonicFit(x, cyclesPerReading).remainder : x;
  const left = sampleVariance(remainder);
  const parts = { slow: 0, middle: 0, fast: 0 };
  const pieces = Math.ceil(x.length / LONGEST_PIECE);
  const size = Math.ceil(x.length / pieces);
  const centre = mean(remainder);
  for (let start = 0; start < x.length; start += size) {
    const piece = remainder.subarray(start, start + size);
    const present = presentCount(piece);
    if (present === 0) continue;
    addBandsInto(parts, piece, stepSeconds);
    // What whole pieces differ by is slower than a piece.
    parts.slow += present * (mean(piece) - centre) ** 2;
  }
  const total = parts.slow + parts.middle + parts.fast;
  const scale = total > 0 ? left / total : 0;
  return {
    screwTurn: Math.max(0, whole - left),
    slow: parts.slow * scale,
    middle: parts.middle * scale,
    fast: parts.fast * scale,
  };
}

function addBandsInto(
  parts: { slow: number; middle: number; fast: number },
  piece: Float64Array,
  stepSeconds: number,
): void {
  const n = piece.length;
  const power = periodogram(piece);
  for (let j = 1; j <= power.length; j++) {
    const periodSeconds = (n / j) * stepSeconds;
    const squares = power[j - 1]! * n;
    if (periodSeconds > SLOW_SECONDS) parts.slow += squares;
    else if (periodSeconds < FAST_SECONDS) parts.fast += squares;
    else parts.middle += squares;
  }
}
