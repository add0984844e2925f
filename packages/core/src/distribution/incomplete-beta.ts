import { refuseUnconverged } from './domain.ts';
import { logBetaKernel } from './log-kernel.ts';

const MAX_STEPS = 200_000;
const EPSILON = 1.2e-16;
const TINY = 1e-300;

/**
 * Lower tail of the beta distribution, I_x(a, b).
 *
 * The continued fraction is used on whichever side of the mean x lies, so a small tail is never a
 * difference. The upper tail is `betaLower` with both pairs exchanged.
 *
 * @param x - in [0, 1]
 * @param y - 1 − x, given apart
 * @param a - shape, above zero
 * @param b - shape, above zero
 * @accuracy 1e-12 relative for shapes up to 1e6; tests/reference
 */
export function betaLower(x: number, y: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (y <= 0) return 1;
  const kernel = Math.exp(logBetaKernel(x, y, a, b));
  return isBelowMean(x, a, b)
    ? kernel / betaFraction(x, y, a, b)
    : 1 - kernel / betaFraction(y, x, b, a);
}

/** ln I_x(a, b), for tails that underflow. Arguments as {@link betaLower}. */
export function betaLogLower(x: number, y: number, a: number, b: number): number {
  if (x <= 0) return Number.NEGATIVE_INFINITY;
  if (y <= 0) return 0;
  const logKernel = logBetaKernel(x, y, a, b);
  return isBelowMean(x, a, b)
    ? logKernel - Math.log(betaFraction(x, y, a, b))
    : Math.log1p(-Math.exp(logKernel) / betaFraction(y, x, b, a));
}

/** Whether the fraction in x converges faster than the one in 1 − x. */
export function isBelowMean(x: number, a: number, b: number): boolean {
  return x * (a + b + 2) < a + 1;
}

/**
 * The fraction f with I_x(a, b) = xᵃ yᵇ / (B(a, b) f), for x below the mean.
 *
 * The even part of the classical fraction, so half its steps; about √max(a, b) steps at the mean.
 * f is also the hazard of the beta distribution in the variable ln(x/y), which the quantiles use.
 *
 * @source DLMF 8.17.22, contracted; evaluated by the modified Lentz method, DLMF 3.10(iii)
 */
export function betaFraction(x: number, y: number, a: number, b: number): number {
  const start = a * y - b * x + 1;
  let f = (a * start) / (a + 1);
  let c = f;
  let d = 0;
  for (let m = 1; m < MAX_STEPS; m++) {
    const odd = a + 2 * m - 1;
    const numerator = ((((a + m - 1) / odd) * (a + b + m - 1)) / odd) * m * (b - m) * x * x;
    const denominator = m + (m * (b - m) * x) / odd + ((a + m) * (start + m * (2 - x))) / (odd + 2);
    d = denominator + numerator * d;
    if (d === 0) d = TINY;
    c = denominator + numerator / c;
    if (c === 0) c = TINY;
    d = 1 / d;
    const change = c * d;
    f *= change;
    if (Math.abs(change - 1) <= EPSILON) return f;
  }
  return refuseUnconverged('betaFraction', { x, y, a, b });
}
