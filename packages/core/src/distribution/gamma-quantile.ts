import { refuseUnconverged } from './domain.ts';
import { LOG_ROOT_TWO_PI, stirlingRemainder } from './gamma-function.ts';
import { gammaFraction, gammaSeries } from './incomplete-gamma.ts';
import { logGammaKernel } from './log-kernel.ts';
import { normalUpperQuantile } from './normal.ts';

const MAX_STEPS = 200;

/**
 * The x of a gamma distribution of shape a and unit scale whose named tail is p.
 *
 * In the variable w = ln x the density xᵃ e⁻ˣ/Γ(a) is log-concave, so ln of either tail is concave
 * in w and Newton's iteration converges from any start; see `betaLogOdds` for the reasoning.
 *
 * @param p - in (0, 1), best at most 0.6
 * @param a - shape, above zero
 * @param tail - which tail p is
 * @accuracy 1e-12 relative
 */
export function gammaTailQuantile(p: number, a: number, tail: 'lower' | 'upper'): number {
  const sign = tail === 'lower' ? 1 : -1;
  const logP = Math.log(p);
  if (tail === 'lower') {
    const deep = powerLawLog(logP, a);
    if (deep < -40 && Math.exp(deep) < 1e-17) return Math.exp(deep);
  }
  let w = startLog(p, a, tail);
  for (let step = 0; step < MAX_STEPS; step++) {
    const x = Math.exp(w);
    const logKernel = logGammaKernel(x, a);
    const { logTail, hazard } = tailAndHazard(x, a, { tail, logKernel });
    const newton = (logTail - logP) / hazard;
    const curvature = sign * (a - x) - hazard;
    const move = newton / Math.max(0.5, 1 - 0.5 * newton * curvature);
    w -= sign * move;
    if (Math.abs(move) * (1 + Math.abs(curvature)) < 1e-6 || Math.abs(move) < 1e-15 * Math.abs(w)) {
      return Math.exp(w);
    }
  }
  return refuseUnconverged('gammaTailQuantile', { p, a, tail });
}

interface TailContext {
  readonly tail: 'lower' | 'upper';
  readonly logKernel: number;
}

/** ln of the tail, and the density in ln x over the tail. */
function tailAndHazard(
  x: number,
  a: number,
  { tail, logKernel }: TailContext,
): { readonly logTail: number; readonly hazard: number } {
  const isSeries = x < a + 1;
  const inverse = isSeries ? 1 / gammaSeries(x, a) : gammaFraction(x, a);
  if (isSeries === (tail === 'lower')) {
    return { logTail: logKernel - Math.log(inverse), hazard: inverse };
  }
  const kernel = Math.exp(logKernel);
  const value = 1 - kernel / inverse;
  return { logTail: Math.log(value), hazard: kernel / value };
}

/** ln x from P(a, x) ≈ xᵃ/Γ(a + 1), the leading term at zero. */
function powerLawLog(logP: number, a: number): number {
  const logGammaNext =
    (a - 0.5) * Math.log(a) - a + LOG_ROOT_TWO_PI + stirlingRemainder(a) + Math.log(a);
  return (logP + logGammaNext) / a;
}

/** Wilson and Hilferty's cube root, or the power law at the left end. */
function startLog(p: number, a: number, tail: 'lower' | 'upper'): number {
  const z = tail === 'lower' ? -normalUpperQuantile(p) : normalUpperQuantile(p);
  const cube = 1 - 1 / (9 * a) + z / (3 * Math.sqrt(a));
  if (cube > 0.3) return Math.log(a) + 3 * Math.log(cube);
  const logLower = tail === 'lower' ? Math.log(p) : Math.log1p(-p);
  return powerLawLog(logLower, a);
}
