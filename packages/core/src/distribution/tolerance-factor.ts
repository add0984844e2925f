import { DomainError } from '../error/domain-error.ts';
import { chiSquaredLower, chiSquaredQuantile } from './chi-squared.ts';
import { requireFinitePositive, requireOpenProbability } from './domain.ts';
import { increasingRoot } from './increasing-root.ts';
import { noncentralTQuantile } from './noncentral-t.ts';
import {
  normalDensity,
  normalLower,
  normalQuantile,
  normalUpper,
  normalUpperQuantile,
} from './normal.ts';

// Factors k of normal tolerance limits: mean ± k s holds at least the share `content` of the
// population with the stated confidence. n may be an effective sample size and need not be whole.

/**
 * One-sided factor: mean + k s (or mean − k s). Exact: √n k is a quantile of the noncentral t.
 *
 * @param n - sample size, effective if readings are autocorrelated; at least 2 when df is n − 1
 * @param content - share of the population to hold, in (0, 1)
 * @param confidence - in (0, 1)
 * @throws {DomainError} `out_of_domain` or `sample_too_small` when an argument is outside its range
 * @accuracy 1e-10 relative; tests/reference
 * @source ISO 16269-6:2014, clause on one-sided limits, unknown standard deviation; NIST/SEMATECH
 *   e-Handbook 7.2.6.3 (both from memory; follows from the definition of the noncentral t)
 */
export function toleranceFactorOneSided(n: number, content: number, confidence: number): number {
  requireSample('toleranceFactorOneSided', n, content, confidence);
  const root = Math.sqrt(n);
  return noncentralTQuantile(confidence, n - 1, normalQuantile(content) * root) / root;
}

/**
 * Two-sided factor, exact: mean ± k s.
 *
 * With the sample mean x standard errors off, the half width R(x) that holds the content solves
 * Φ(x/√n + R) − Φ(x/√n − R) = content; the confidence is the average over x of
 * P(χ² > (n − 1) R²/k²), so what is missed averages the lower tail. The integrand is smooth and dies off as φ(x), so the trapezoid rule is
 * good to rounding; R does not depend on k and is found once.
 *
 * Parameters and errors as {@link toleranceFactorOneSided}.
 *
 * @accuracy 1e-9 relative; tests/reference
 * @source ISO 16269-6:2014, annex on exact two-sided factors (from memory); Odeh & Owen (1980), Tables for
 *   normal tolerance limits
 */
export function toleranceFactorTwoSided(n: number, content: number, confidence: number): number {
  requireSample('toleranceFactorTwoSided', n, content, confidence);
  const df = n - 1;
  const squares = squaredHalfWidths(n, content);
  const logTarget = Math.log1p(-confidence);
  const logK = increasingRoot(
    (w) => {
      const scale = df * Math.exp(-2 * w);
      let missed = 0;
      for (let i = 0; i < squares.length; i++) {
        const weight = (i === 0 ? 1 : 2) * normalDensity(i * OFFSET_STEP) * OFFSET_STEP;
        missed += weight * chiSquaredLower(scale * squares[i]!, df);
      }
      return logTarget - Math.log(missed);
    },
    { start: Math.log(toleranceFactorHowe(n, content, confidence)), step: 0.02 },
  );
  return Math.exp(logK);
}

/**
 * Two-sided factor by Howe's approximation: z √(df (1 + 1/n)/χ²), z the normal quantile of
 * (1 + content)/2 and χ² the lower quantile at 1 − confidence. A few per cent off for n below 5.
 *
 * Parameters and errors as {@link toleranceFactorOneSided}.
 *
 * @source Howe (1969), Two-sided tolerance limits for normal populations, JASA 64, 610-620
 */
export function toleranceFactorHowe(n: number, content: number, confidence: number): number {
  requireSample('toleranceFactorHowe', n, content, confidence);
  const z = normalUpperQuantile((1 - content) / 2);
  const df = n - 1;
  return z * Math.sqrt((df * (1 + 1 / n)) / chiSquaredQuantile(1 - confidence, df));
}

/** In standard errors of the mean; φ is below 1e-17 past the last node, and 0.25 resolves it to rounding. */
const OFFSET_STEP = 0.25;
const OFFSET_NODES = 36;

/** R(x)² at x = 0, 0.25, … standard errors. */
function squaredHalfWidths(n: number, content: number): Float64Array {
  const squares = new Float64Array(OFFSET_NODES);
  let guess = normalUpperQuantile((1 - content) / 2);
  for (let i = 0; i < OFFSET_NODES; i++) {
    guess = halfWidth((i * OFFSET_STEP) / Math.sqrt(n), content, guess);
    squares[i] = guess * guess;
  }
  return squares;
}

/** The R with Φ(m + R) − Φ(m − R) = content, by Newton steps on the share left out. */
function halfWidth(m: number, content: number, guess: number): number {
  const target = 1 - content;
  let r = Math.max(guess, m);
  for (let step = 0; step < 60; step++) {
    const left = normalUpper(r - m) + normalLower(-m - r);
    const density = normalDensity(r - m) + normalDensity(m + r);
    const move = (left / density) * Math.log(left / target);
    r += move;
    if (Math.abs(move) <= 1e-14 * r) break;
  }
  return r;
}

function requireSample(operation: string, n: number, content: number, confidence: number): void {
  requireFinitePositive(operation, 'sample size', n);
  if (n <= 1) {
    throw new DomainError(
      'sample_too_small',
      `${operation}: sample size must exceed 1; got ${n}. Take more readings.`,
      { operation, n },
    );
  }
  requireOpenProbability(operation, 'content', content);
  requireOpenProbability(operation, 'confidence', confidence);
}
