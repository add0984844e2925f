import { betaLogOdds } from './beta-quantile.ts';
import { chiSquaredLower, chiSquaredUpper, chiSquaredUpperQuantile } from './chi-squared.ts';
import {
  requireFinitePositive,
  requireNumber,
  requirePositive,
  requireProbability,
} from './domain.ts';
import { betaLogLower, betaLower } from './incomplete-beta.ts';

// The F distribution with df1 and df2 degrees of freedom, real and above zero; df2 may be infinite.
// P(F < x) = I_u(df1/2, df2/2), u = df1 x/(df1 x + df2).

/**
 * P(F > x), correct in relative terms for small tails.
 *
 * @param x - statistic, at least zero; may be infinite
 * @param df1 - numerator degrees of freedom, finite and above zero
 * @param df2 - denominator degrees of freedom, above zero; Infinity gives chi-squared over df1
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @accuracy 1e-12 relative down to 1e-300; tests/reference
 * @source Abramowitz & Stegun 26.6.2; DLMF 8.17
 */
export function fUpper(x: number, df1: number, df2: number): number {
  requireF('fUpper', x, df1, df2);
  if (df2 === Number.POSITIVE_INFINITY) return chiSquaredUpper(x * df1, df1);
  const odds = (df1 / df2) * x;
  return betaLower(1 / (1 + odds), numeratorShare(odds), df2 / 2, df1 / 2);
}

/** P(F < x). Parameters, errors and accuracy as {@link fUpper}. */
export function fLower(x: number, df1: number, df2: number): number {
  requireF('fLower', x, df1, df2);
  if (df2 === Number.POSITIVE_INFINITY) return chiSquaredLower(x * df1, df1);
  const odds = (df1 / df2) * x;
  return betaLower(numeratorShare(odds), 1 / (1 + odds), df1 / 2, df2 / 2);
}

/** ln P(F > x), also where the tail underflows; df2 finite. Otherwise as {@link fUpper}. */
export function fLogUpper(x: number, df1: number, df2: number): number {
  requireF('fLogUpper', x, df1, df2);
  requireFinitePositive('fLogUpper', 'denominator degrees of freedom', df2);
  const odds = (df1 / df2) * x;
  return betaLogLower(1 / (1 + odds), numeratorShare(odds), df2 / 2, df1 / 2);
}

/**
 * The x with P(F < x) = p.
 *
 * @param p - lower-tail probability, in [0, 1]
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @accuracy 1e-12 relative; tests/reference
 */
export function fQuantile(p: number, df1: number, df2: number): number {
  requireProbability('fQuantile', 'probability', p);
  requireF('fQuantile', 0, df1, df2);
  if (df2 === Number.POSITIVE_INFINITY) return chiSquaredUpperQuantile(1 - p, df1) / df1;
  if (p > 0.5) return fUpperQuantile(1 - p, df1, df2);
  if (p === 0) return 0;
  return lowerQuantile(p, df1, df2);
}

/** The x with P(F > x) = q, full accuracy for small q. Errors and accuracy as {@link fQuantile}. */
export function fUpperQuantile(q: number, df1: number, df2: number): number {
  requireProbability('fUpperQuantile', 'upper-tail probability', q);
  requireF('fUpperQuantile', 0, df1, df2);
  if (df2 === Number.POSITIVE_INFINITY) return chiSquaredUpperQuantile(q, df1) / df1;
  if (q === 0) return Number.POSITIVE_INFINITY;
  if (q === 1) return 0;
  if (q > 0.5) return lowerQuantile(1 - q, df1, df2);
  return (df2 / df1) * Math.exp(-betaLogOdds(q, df2 / 2, { b: df1 / 2 }));
}

function lowerQuantile(p: number, df1: number, df2: number): number {
  return (df2 / df1) * Math.exp(betaLogOdds(p, df1 / 2, { b: df2 / 2 }));
}

function numeratorShare(odds: number): number {
  return odds === Number.POSITIVE_INFINITY ? 1 : odds / (1 + odds);
}

function requireF(operation: string, x: number, df1: number, df2: number): void {
  requireNumber(operation, 'statistic', x);
  if (x < 0) requirePositive(operation, 'statistic', x);
  requireFinitePositive(operation, 'numerator degrees of freedom', df1);
  requirePositive(operation, 'denominator degrees of freedom', df2);
}
