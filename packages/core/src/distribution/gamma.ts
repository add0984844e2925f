import {
  requireFinitePositive,
  requireNumber,
  requirePositive,
  requireProbability,
} from './domain.ts';
import { gammaTailQuantile } from './gamma-quantile.ts';
import { gammaLowerTail, gammaUpperTail } from './incomplete-gamma.ts';

// The gamma distribution of shape a and unit scale; divide x by the scale first.

/**
 * P(X < x) for shape a and unit scale.
 *
 * @param x - at least zero; may be infinite
 * @param shape - finite and above zero
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @accuracy 1e-12 relative; tests/core/distribution
 */
export function gammaLower(x: number, shape: number): number {
  requireGamma('gammaLower', x, shape);
  return gammaLowerTail(x, shape);
}

/** P(X > x), correct in relative terms for small tails. Otherwise as {@link gammaLower}. */
export function gammaUpper(x: number, shape: number): number {
  requireGamma('gammaUpper', x, shape);
  return gammaUpperTail(x, shape);
}

/** The x with P(X < x) = p, for shape a and unit scale. Errors and accuracy as {@link gammaLower}. */
export function gammaQuantile(p: number, shape: number): number {
  requireProbability('gammaQuantile', 'probability', p);
  requireFinitePositive('gammaQuantile', 'shape', shape);
  if (p === 0) return 0;
  if (p === 1) return Number.POSITIVE_INFINITY;
  return p > 0.5 ? gammaTailQuantile(1 - p, shape, 'upper') : gammaTailQuantile(p, shape, 'lower');
}

/** The x with P(X > x) = q, full accuracy for small q. Errors and accuracy as {@link gammaLower}. */
export function gammaUpperQuantile(q: number, shape: number): number {
  requireProbability('gammaUpperQuantile', 'upper-tail probability', q);
  requireFinitePositive('gammaUpperQuantile', 'shape', shape);
  if (q === 0) return Number.POSITIVE_INFINITY;
  if (q === 1) return 0;
  return q > 0.5 ? gammaTailQuantile(1 - q, shape, 'lower') : gammaTailQuantile(q, shape, 'upper');
}

function requireGamma(operation: string, x: number, shape: number): void {
  requireNumber(operation, 'value', x);
  if (x < 0) requirePositive(operation, 'value', x);
  requireFinitePositive(operation, 'shape', shape);
}
