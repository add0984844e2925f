import { betaUpper } from '../distribution/beta.ts';
import { toleranceFactorTwoSided } from '../distribution/tolerance-factor.ts';
import { quantileOfSorted } from '../measurement/descriptive.ts';

/** Limits that hold at least `content` of the strand with the stated confidence. */
export interface ToleranceInterval {
  readonly low: number;
  readonly high: number;
}

/**
 * For a normal characteristic: mean ± k s with the exact two-sided factor.
 *
 * @param n - effective sample size
 * @source ISO 16269-6:2014 (from memory)
 */
export function normalToleranceInterval(
  { mean, sd, n }: { readonly mean: number; readonly sd: number; readonly n: number },
  content: number,
  confidence: number,
): ToleranceInterval {
  const k = toleranceFactorTwoSided(n, content, confidence);
  return { low: mean - k * sd, high: mean + k * sd };
}

export type FreeToleranceInterval =
  | ({
      readonly kind: 'interval';
      /** Order statistics counted in from either end, of the effective number of readings. */
      readonly inwards: number;
      readonly reachedConfidence: number;
    } & ToleranceInterval)
  /** Even smallest to largest holds the content with less than the confidence asked. */
  | ({
      readonly kind: 'too few';
      readonly reachedConfidence: number;
      readonly needed: number;
    } & ToleranceInterval);

/** Confidence that between the r-th smallest and r-th largest of n lies at least the content. */
export const orderConfidence = (n: number, inwards: number, content: number): number =>
  n + 1 - 2 * inwards <= 0 ? 0 : betaUpper(content, n + 1 - 2 * inwards, 2 * inwards);

/**
 * For any continuous characteristic: between two order statistics. The content between the r-th smallest
 * and the r-th largest of n independent readings is Beta(n + 1 − 2r, 2r) distributed. With autocorrelated
 * readings n is the effective number, and the order statistics are taken at its ranks of all readings.
 *
 * @param sorted - rising readings, shape (N)
 * @param n - effective number of independent readings; at most N
 * @source ISO 16269-6:2014, distribution-free intervals (from memory); derived above. 93 readings hold 95 %
 *   with confidence 0.95, 473 hold 99 %
 */
export function freeToleranceInterval(
  sorted: Float64Array,
  n: number,
  { content, confidence }: { readonly content: number; readonly confidence: number },
): FreeToleranceInterval {
  const whole = Math.max(1, Math.floor(n));
  const most = Math.floor((whole + 1) / 2);
  let inwards = 0;
  while (inwards < most && orderConfidence(whole, inwards + 1, content) >= confidence) inwards++;
  if (inwards === 0) {
    return {
      kind: 'too few',
      reachedConfidence: orderConfidence(whole, 1, content),
      needed: readingsNeeded(content, confidence),
      low: sorted[0]!,
      high: sorted.at(-1)!,
    };
  }
  // The r-th of n readings stands at rank (r − 1)/(n − 1) of all; the innermost such pair.
  const share = whole > 1 ? (inwards - 1) / (whole - 1) : 0;
  return {
    kind: 'interval',
    inwards,
    reachedConfidence: orderConfidence(whole, inwards, content),
    low: quantileOfSorted(sorted, share),
    high: quantileOfSorted(sorted, 1 - share),
  };
}

/** Fewest independent readings whose smallest and largest hold the content with the confidence. */
export function readingsNeeded(content: number, confidence: number): number {
  let n = 2;
  while (orderConfidence(n, 1, content) < confidence) n++;
  return n;
}
