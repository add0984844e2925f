import { correlationTimes } from './autocorrelation.ts';
import { mean, presentCount, sampleVariance } from './descriptive.ts';

/** A straight drift and how well it is known. */
export interface Trend {
  /** Unit of the column per minute. */
  readonly perMinute: number;
  readonly standardErrorPerMinute: number;
  /** Residual SD about the line; unit of the column. */
  readonly residualSd: number;
}

/**
 * Least-squares slope with a standard error that counts repetition between readings: the
 * independent-noise formula times 1 + 2Σρ of the residuals, that is their spectral level at zero.
 *
 * @param x - evenly spaced values, NaN where missing, shape (n), n >= 8
 * @param stepSeconds - time between values; s
 * @throws {DomainError} `too_few_values` when fewer than 8 values are present
 * @source Grenander & Rosenblatt (1957) for the asymptotic variance of a trend under stationary
 *   noise (from memory): Var = S(0)/Σ(t − t̄)²
 */
export function trendOf(x: Float64Array, stepSeconds: number): Trend {
  const n = presentCount(x);
  const centre = mean(x);
  let middle = 0;
  for (let i = 0; i < x.length; i++) if (!Number.isNaN(x[i]!)) middle += i / n;
  let tt = 0;
  let tx = 0;
  for (let i = 0; i < x.length; i++) {
    const d = x[i]! - centre;
    if (Number.isNaN(d)) continue;
    tt += (i - middle) ** 2;
    tx += (i - middle) * d;
  }
  const slope = tt > 0 ? tx / tt : 0;
  const residual = x.map((value, i) => value - centre - slope * (i - middle));
  const variance = sampleVariance(residual);
  const isFlat = variance <= 1e-24 * Math.max(centre * centre, slope * slope);
  const repeats = isFlat ? 1 : correlationTimes(residual).forMean;
  const perMinute = 60 / stepSeconds;
  return {
    perMinute: slope * perMinute,
    standardErrorPerMinute: tt > 0 ? Math.sqrt((variance * repeats) / tt) * perMinute : 0,
    residualSd: Math.sqrt(variance),
  };
}
