import { refuseUnconverged } from './domain.ts';
import { betaFraction, isBelowMean } from './incomplete-beta.ts';
import { logBetaDrop, logBetaPeak } from './log-kernel.ts';
import { normalUpperQuantile } from './normal.ts';

const MAX_STEPS = 200;

/**
 * The log odds w = ln(x/(1 − x)) at which the lower tail of a beta(a, b) is p.
 *
 * In the variable w the beta density is xᵃ yᵇ/B(a, b), which is log-concave; so ln I_x is concave
 * in w and Newton's iteration on ln I_x = ln p converges from any start, through 1e-300 as well as
 * through 0.5. Halley's correction, kept within a factor of two, makes it cubic near the end.
 * The upper tail is this with a, b exchanged and the sign of w turned.
 *
 * @param p - lower tail, in (0, 1); best below 0.6, where the tail keeps its digits
 * @param a - shape, above zero
 * @param shape - the other shape, above zero, and a guess of w where a good one is known
 */
export function betaLogOdds(
  p: number,
  a: number,
  { b, start }: { readonly b: number; readonly start?: number },
): number {
  const logP = Math.log(p);
  const logPeak = logBetaPeak(a, b);
  const deep = powerLawLogOdds(logP, a, { b, logPeak });
  // (a + b)·eʷ is the first neglected term of the power series of ln I_x at 0.
  if (deep < -600 || (a + b + 1) * Math.exp(deep) < 1e-17) return deep;
  let w = Math.max(start ?? guess(p, a, { b, deep }), -600);
  for (let step = 0; step < MAX_STEPS; step++) {
    const odds = Math.exp(w);
    const x = odds === Number.POSITIVE_INFINITY ? 1 : odds / (1 + odds);
    const y = 1 / (1 + odds);
    const logKernel = logPeak + logBetaDrop(x, y, a, b);
    let hazard: number;
    let gap: number;
    if (isBelowMean(x, a, b)) {
      hazard = betaFraction(x, y, a, b);
      gap = logKernel - Math.log(hazard) - logP;
    } else {
      const kernel = Math.exp(logKernel);
      const lower = 1 - kernel / betaFraction(y, x, b, a);
      hazard = kernel / lower;
      gap = Math.log(lower) - logP;
    }
    const newton = gap / hazard;
    const curvature = a * y - b * x - hazard;
    const move = newton / Math.max(0.5, 1 - 0.5 * newton * curvature);
    w -= move;
    // The next move is of the order (move·scale)³, where scale² is the curvature of ln of the tail.
    if (Math.abs(move) * (1 + Math.abs(curvature)) < 1e-5 || Math.abs(move) < 1e-15 * Math.abs(w)) {
      return w;
    }
  }
  return refuseUnconverged('betaLogOdds', { p, a, b });
}

/** The leading term at the left end: I_x ≈ xᵃ/(a B(a, b)) and w ≈ ln x. */
function powerLawLogOdds(
  logP: number,
  a: number,
  { b, logPeak }: { readonly b: number; readonly logPeak: number },
): number {
  const logInverseBeta = logPeak + logBetaDrop(0.5, 0.5, a, b) + (a + b) * Math.LN2;
  return (logP + Math.log(a) - logInverseBeta) / a;
}

/**
 * A guess of w: the normal approximation of Fisher's z with its cumulant correction where both
 * shapes exceed ½, else the power law of the left end.
 *
 * @source Abramowitz & Stegun (1964), 26.5.22 and 26.2.23 (from memory; only a guess)
 */
function guess(
  p: number,
  a: number,
  { b, deep }: { readonly b: number; readonly deep: number },
): number {
  if (a <= 0.6 || b <= 0.6 || p < 1e-20) return deep < -1 ? deep : Math.log(a / b);
  const z = -normalUpperQuantile(p);
  const s = 1 / (2 * a - 1);
  const t = 1 / (2 * b - 1);
  const h = 2 / (s + t);
  const lambda = (z * z - 3) / 6;
  const w =
    (z * Math.sqrt(Math.max(h + lambda, 0.25 * h))) / h + (s - t) * (lambda + 5 / 6 - 2 / (3 * h));
  return Math.log(a / b) + 2 * w;
}
