import {
  requireFiniteNonNegative,
  requireFinitePositive,
  requireNumber,
  requireProbability,
} from './domain.ts';
import { gammaTailQuantile } from './gamma-quantile.ts';
import { gammaLogUpperTail, gammaLowerTail, gammaUpperTail } from './incomplete-gamma.ts';

/**
 * P(χ² > x), correct in relative terms for small tails.
 *
 * @param x - statistic, at least zero; may be infinite
 * @param df - degrees of freedom, finite and above zero, fractional allowed
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @accuracy 1e-12 relative down to 1e-300; tests/reference
 * @source Abramowitz & Stegun 26.4.19; DLMF 8.2
 */
export function chiSquaredUpper(x: number, df: number): number {
  requireChiSquared('chiSquaredUpper', x, df);
  return gammaUpperTail(x / 2, df / 2);
}

/** P(χ² < x). Parameters, errors and accuracy as {@link chiSquaredUpper}. */
export function chiSquaredLower(x: number, df: number): number {
  requireChiSquared('chiSquaredLower', x, df);
  return gammaLowerTail(x / 2, df / 2);
}

/** ln P(χ² > x), also where the tail underflows. Otherwise as {@link chiSquaredUpper}. */
export function chiSquaredLogUpper(x: number, df: number): number {
  requireChiSquared('chiSquaredLogUpper', x, df);
  return gammaLogUpperTail(x / 2, df / 2);
}

/**
 * The x with P(χ² < x) = p.
 *
 * @throws {DomainError} `out_of_domain` when p or df is outside its range
 * @accuracy 1e-12 relative; tests/reference
 */
export function chiSquaredQuantile(p: number, df: number): number {
  requireProbability('chiSquaredQuantile', 'probability', p);
  requireFinitePositive('chiSquaredQuantile', 'degrees of freedom', df);
  if (p === 0) return 0;
  if (p === 1) return Number.POSITIVE_INFINITY;
  return (
    2 *
    (p > 0.5 ? gammaTailQuantile(1 - p, df / 2, 'upper') : gammaTailQuantile(p, df / 2, 'lower'))
  );
}

/** The x with P(χ² > x) = q, full accuracy for small q. Otherwise as {@link chiSquaredQuantile}. */
export function chiSquaredUpperQuantile(q: number, df: number): number {
  requireProbability('chiSquaredUpperQuantile', 'upper-tail probability', q);
  requireFinitePositive('chiSquaredUpperQuantile', 'degrees of freedom', df);
  if (q === 0) return Number.POSITIVE_INFINITY;
  if (q === 1) return 0;
  return (
    2 *
    (q > 0.5 ? gammaTailQuantile(1 - q, df / 2, 'lower') : gammaTailQuantile(q, df / 2, 'upper'))
  );
}

function requireChiSquared(operation: string, x: number, df: number): void {
  requireNumber(operation, 'statistic', x);
  if (x !== Number.POSITIVE_INFINITY) requireFiniteNonNegative(operation, 'statistic', x);
  requireFinitePositive(operation, 'degrees of freedom', df);
}
