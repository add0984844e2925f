import { betaLogOdds } from './beta-quantile.ts';
import { requireNumber, requirePositive, requireProbability } from './domain.ts';
import { betaLogLower, betaLower } from './incomplete-beta.ts';
import { normalLogUpper, normalTwoSided, normalUpper, normalUpperQuantile } from './normal.ts';

// Student's t with df degrees of freedom, any real df above zero; df = Infinity is the normal.
// P(|T| > t) = I_x(df/2, ½) with x = df/(df + t²).

/**
 * P(|T| > |t|), both tails.
 *
 * @param t - statistic; any number, also infinite
 * @param df - degrees of freedom; above zero, fractional or infinite
 * @throws {DomainError} `out_of_domain` when t is NaN or df is not above zero
 * @accuracy 1e-12 relative down to 1e-300; tests/reference
 * @source DLMF 8.17; Abramowitz & Stegun 26.7.1
 */
export function tTwoSided(t: number, df: number): number {
  requireNumber('tTwoSided', 't', t);
  requirePositive('tTwoSided', 'degrees of freedom', df);
  if (df === Number.POSITIVE_INFINITY) return normalTwoSided(t);
  const odds = t * t < 1e300 ? (t * t) / df : Number.POSITIVE_INFINITY;
  if (odds === Number.POSITIVE_INFINITY) return Math.exp(farLogTwoSided(Math.abs(t), df));
  return betaLower(1 / (1 + odds), odds / (1 + odds), df / 2, 0.5);
}

/** ln P(|T| > |t|), also where the tail underflows. Parameters and errors as {@link tTwoSided}. */
export function tLogTwoSided(t: number, df: number): number {
  requireNumber('tLogTwoSided', 't', t);
  requirePositive('tLogTwoSided', 'degrees of freedom', df);
  if (df === Number.POSITIVE_INFINITY) return normalLogUpper(Math.abs(t)) + Math.LN2;
  const odds = t * t < 1e300 ? (t * t) / df : Number.POSITIVE_INFINITY;
  if (odds === Number.POSITIVE_INFINITY) return farLogTwoSided(Math.abs(t), df);
  return betaLogLower(1 / (1 + odds), odds / (1 + odds), df / 2, 0.5);
}

/** Past t = 1e150 only the power law is left: scale the tail at a t where t² is still a number. */
function farLogTwoSided(t: number, df: number): number {
  const near = 1e100 * Math.max(1, Math.sqrt(df));
  return tLogTwoSided(near, df) - df * (Math.log(t) - Math.log(near));
}

/** P(T < t). Parameters, errors and accuracy as {@link tTwoSided}. */
export function tLower(t: number, df: number): number {
  return tUpper(-t, df);
}

/** P(T > t), correct in relative terms for small tails. Parameters and errors as {@link tTwoSided}. */
export function tUpper(t: number, df: number): number {
  requireNumber('tUpper', 't', t);
  if (df === Number.POSITIVE_INFINITY) return normalUpper(t);
  const half = 0.5 * tTwoSided(t, df);
  return t > 0 ? half : 1 - half;
}

/** ln P(T > t), also where the tail underflows. Parameters and errors as {@link tTwoSided}. */
export function tLogUpper(t: number, df: number): number {
  requireNumber('tLogUpper', 't', t);
  if (df === Number.POSITIVE_INFINITY) return normalLogUpper(t);
  return t > 0 ? tLogTwoSided(t, df) - Math.LN2 : Math.log1p(-0.5 * tTwoSided(t, df));
}

/**
 * The t with P(T < t) = p; infinite at 0 and 1.
 *
 * @param p - lower-tail probability, in [0, 1]
 * @param df - degrees of freedom; above zero, fractional or infinite
 * @throws {DomainError} `out_of_domain` when p or df is outside its range
 * @accuracy 1e-12 relative; tests/reference
 */
export function tQuantile(p: number, df: number): number {
  requireProbability('tQuantile', 'probability', p);
  return p < 0.5 ? -tUpperQuantile(p, df) : tUpperQuantile(1 - p, df);
}

/**
 * The t with P(T > t) = q, full accuracy for small q. Errors and accuracy as {@link tQuantile}.
 *
 * @source start: Hill (1970), Algorithm 396, Comm. ACM 13, 619-620 (from memory); then Halley steps
 */
export function tUpperQuantile(q: number, df: number): number {
  requireProbability('tUpperQuantile', 'upper-tail probability', q);
  requirePositive('tUpperQuantile', 'degrees of freedom', df);
  if (q > 0.5) return -tUpperQuantile(1 - q, df);
  if (q === 0.5) return 0;
  if (q === 0) return Number.POSITIVE_INFINITY;
  if (df === Number.POSITIVE_INFINITY) return normalUpperQuantile(q);
  const both = 2 * q;
  const logOdds = both < 0.6 ? tailLogOdds(both, df) : centreLogOdds(1 - both, df);
  return Math.sqrt(df) * Math.exp(0.5 * logOdds);
}

/** ln(t²/df) where P(|T| > t) = both. */
function tailLogOdds(both: number, df: number): number {
  if (df < 1) return -betaLogOdds(both, df / 2, { b: 0.5 });
  return -betaLogOdds(both, df / 2, { b: 0.5, start: -Math.log(hillOdds(both, df)) });
}

/** ln(t²/df) where P(|T| < t) = inner. */
function centreLogOdds(inner: number, df: number): number {
  return betaLogOdds(inner, 0.5, { b: df / 2 });
}

/** Hill's approximation of t²/df for a two-sided tail, df ≥ 1. */
function hillOdds(both: number, df: number): number {
  const a = 1 / (df - 0.5);
  const b = (48 / a) * (48 / a);
  let c = ((20700 * (a / b) - 98) * a - 16) * a + 96.36;
  const d = ((94.5 / (b + c) - 3) / b + 1) * Math.sqrt(a * (Math.PI / 2)) * df;
  let y = (d * both) ** (2 / df);
  if (y > 0.05 + a) {
    const x = -normalUpperQuantile(0.5 * both);
    y = x * x;
    if (df < 5) c += 0.3 * (df - 4.5) * (x + 0.6);
    c = (((0.05 * d * x - 5) * x - 7) * x - 2) * x + b + c;
    y = (((((0.4 * y + 6.3) * y + 36) * y + 94.5) / c - y - 3) / b + 1) * x;
    return Math.max(Math.expm1(a * y * y), 1e-12);
  }
  const corrected =
    ((1 / (((df + 6) / (df * y) - 0.089 * d - 0.822) * (df + 2) * 3) + 0.5 / (df + 4)) * y - 1) *
      ((df + 1) / (df + 2)) +
    1 / y;
  return Math.max(corrected, 1e-12);
}
