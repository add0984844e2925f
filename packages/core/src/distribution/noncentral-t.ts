import { requireFinite, requireFinitePositive, requireOpenProbability } from './domain.ts';
import { increasingRoot } from './increasing-root.ts';
import { normalLogUpper, normalQuantile } from './normal.ts';
import { logScaledChiAverage } from './scaled-chi-average.ts';
import { tLogUpper, tUpper } from './student-t.ts';

/**
 * P(T > t) of the noncentral t distribution, T = (Z + delta)/S with S = √(χ²/df) independent of Z.
 *
 * Averages the normal tail P(Z > t s − delta) over S. The integrand is positive, so small tails of
 * either side keep their digits, for any sign of t and delta; series in powers of delta do not.
 *
 * @param t - statistic, finite
 * @param df - degrees of freedom, finite and above zero
 * @param delta - noncentrality: the true mean over its standard error; finite
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @throws {DomainError} `no_convergence` only for df below about 0.2 with |delta| in the hundreds
 * @accuracy 1e-11 relative; tests/reference
 * @source Johnson, Kotz & Balakrishnan (1995), Continuous Univariate Distributions 2, ch. 31 (from
 *   memory; the average is the definition conditioned on S)
 */
export function noncentralTUpper(t: number, df: number, delta: number): number {
  return Math.min(1, Math.exp(noncentralTLogUpper(t, df, delta)));
}

/** P(T < t). Parameters, errors and accuracy as {@link noncentralTUpper}. */
export function noncentralTLower(t: number, df: number, delta: number): number {
  return noncentralTUpper(-t, df, -delta);
}

/** ln P(T > t), also where the tail underflows. Otherwise as {@link noncentralTUpper}. */
export function noncentralTLogUpper(t: number, df: number, delta: number): number {
  requireFinite('noncentralTUpper', 't', t);
  requireFinitePositive('noncentralTUpper', 'degrees of freedom', df);
  requireFinite('noncentralTUpper', 'noncentrality', delta);
  if (t === 0) return normalLogUpper(-delta);
  if (delta === 0) return t < 0 ? Math.log(tUpper(t, df)) : tLogUpper(t, df);
  return logScaledChiAverage(df, (s) => normalLogUpper(t * s - delta));
}

/**
 * The t with P(T < t) = p.
 *
 * @param p - in (0, 1)
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @throws {DomainError} `no_convergence` where t would pass about 1e60: tiny df with a tiny p
 * @accuracy 1e-10 relative, away from t = 0; tests/reference (through the tolerance factors)
 */
export function noncentralTQuantile(p: number, df: number, delta: number): number {
  requireOpenProbability('noncentralTQuantile', 'probability', p);
  requireFinitePositive('noncentralTQuantile', 'degrees of freedom', df);
  requireFinite('noncentralTQuantile', 'noncentrality', delta);
  const atZero = normalQuantile(p) + delta;
  if (atZero === 0) return 0;
  // In the log odds of p the distribution function is nearly straight, so few steps are needed.
  const target = Math.log(p) - Math.log1p(-p);
  return increasingRoot(
    (t) => noncentralTLogUpper(-t, df, -delta) - noncentralTLogUpper(t, df, delta) - target,
    { start: atZero, step: 0.25 * (1 + Math.abs(delta) / Math.sqrt(df)) },
  );
}
