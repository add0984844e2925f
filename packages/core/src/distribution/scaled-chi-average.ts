import { refuseUnconverged } from './domain.ts';
import { LOG_ROOT_TWO_PI, stirlingRemainder } from './gamma-function.ts';

/** e⁻⁴⁴ is below 1e-19 of the peak, so what lies outside the window cannot be seen in the sum. */
const LOG_WINDOW = 44;
const FIRST_INTERVALS = 24;
const MAX_HALVINGS = 14;
/** The error squares with each halving, so sums that agree to this leave about 1e-15 in the finer. */
const RELATIVE_TOLERANCE = 1e-9;

/**
 * ln E[g(S)] where S = √(χ²/df), the ratio of a standard deviation estimated with df degrees of
 * freedom to the true one; g is given by its logarithm.
 *
 * With u = ln S the density exp(c + df·(u − (e²ᵘ − 1)/2)) is smooth and dies off at both ends, so
 * the trapezoid rule converges geometrically. The window follows the peak of the whole integrand,
 * which keeps relative accuracy when g lives far out in the tail of S. Halving stops when two sums
 * agree.
 *
 * @param df - degrees of freedom, finite and above zero
 * @param logG - ln g(s), s > 0; −∞ where g is 0
 * @source Trefethen & Weideman (2014), The exponentially convergent trapezoidal rule, SIAM Review 56
 */
export function logScaledChiAverage(df: number, logG: (s: number) => number): number {
  const a = df / 2;
  // ln of 2 (df/2)ᵃ e⁻ᵃ/Γ(a), by Stirling's formula so that nothing cancels.
  const logConstant = Math.LN2 + 0.5 * Math.log(a) - LOG_ROOT_TWO_PI - stirlingRemainder(a);
  const logIntegrand = (u: number): number =>
    logConstant + df * (u - 0.5 * Math.expm1(2 * u)) + logG(Math.exp(u));
  const width = 1 / Math.sqrt(2 * df);
  const peak = peakOf(logIntegrand, width);
  const top = logIntegrand(peak);
  if (top === Number.NEGATIVE_INFINITY) return top;
  const low = windowEdge(logIntegrand, peak, -width, top - LOG_WINDOW);
  const high = windowEdge(logIntegrand, peak, width, top - LOG_WINDOW);
  // The exponent is a sum of terms of this size, so no two sums can agree better than its rounding.
  const rounding = 1e-14 * (df * Math.exp(2 * peak) + Math.abs(top));
  const tolerance = Math.max(RELATIVE_TOLERANCE, rounding);
  const relative = (u: number): number => Math.exp(logIntegrand(u) - top);
  return top + Math.log(trapezoid(relative, { low, high, tolerance }));
}

/**
 * Climbs from u = 0 with doubling, then shrinking steps, until steps are small against the width
 * and the logarithm is flat to within 1: a sharp g can make the peak far narrower than the density.
 */
function peakOf(logIntegrand: (u: number) => number, width: number): number {
  let u = 0;
  let value = logIntegrand(u);
  let step = logIntegrand(0.05 * width) >= value ? width : -width;
  let drop = Number.POSITIVE_INFINITY;
  while ((Math.abs(step) > 0.05 * width || drop > 1) && Math.abs(step) > 1e-13) {
    const next = logIntegrand(u + step);
    const back = logIntegrand(u - 0.25 * step);
    if (next > value) {
      u += step;
      value = next;
      step *= 2;
    } else {
      drop = value - Math.min(next, back);
      if (back > value) {
        u -= 0.25 * step;
        value = back;
        step *= -0.5;
      } else {
        step *= 0.25;
      }
    }
  }
  return u;
}

/** The first point past the peak, within a tenth of the distance, where the integrand is below `level`. */
function windowEdge(
  logIntegrand: (u: number) => number,
  peak: number,
  step: number,
  level: number,
): number {
  let inside = 0;
  let outside = step;
  while (logIntegrand(peak + outside) > level) {
    inside = outside;
    outside *= 2;
  }
  while (Math.abs(outside - inside) > 0.1 * Math.abs(outside)) {
    const middle = 0.5 * (inside + outside);
    if (logIntegrand(peak + middle) > level) inside = middle;
    else outside = middle;
  }
  return peak + outside;
}

interface Window {
  readonly low: number;
  readonly high: number;
  readonly tolerance: number;
}

/** ∫ f over [low, high] for an f that vanishes at both ends, halving the step until settled. */
function trapezoid(f: (u: number) => number, { low, high, tolerance }: Window): number {
  let intervals = FIRST_INTERVALS;
  let step = (high - low) / intervals;
  let sum = 0;
  for (let i = 1; i < intervals; i++) sum += f(low + i * step);
  let estimate = sum * step;
  for (let halving = 0; halving < MAX_HALVINGS; halving++) {
    for (let i = 0; i < intervals; i++) sum += f(low + (i + 0.5) * step);
    intervals *= 2;
    step *= 0.5;
    const finer = sum * step;
    if (Math.abs(finer - estimate) <= tolerance * finer) return finer;
    estimate = finer;
  }
  return refuseUnconverged('average over a scaled chi', { low, high });
}
