import { betaLogOdds } from './beta-quantile.ts';
import { requireFinitePositive, requireProbability } from './domain.ts';
import { betaLower as betaLowerTail } from './incomplete-beta.ts';

/**
 * P(X < x) of the beta distribution.
 *
 * @param x - in [0, 1]
 * @param a - first shape, finite and above zero
 * @param b - second shape, finite and above zero
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @accuracy 1e-12 relative; tests/core/distribution
 */
export function betaLower(x: number, a: number, b: number): number {
  requireBeta('betaLower', x, a, b);
  return betaLowerTail(x, 1 - x, a, b);
}

/** P(X > x), correct in relative terms for small tails. Otherwise as {@link betaLower}. */
export function betaUpper(x: number, a: number, b: number): number {
  requireBeta('betaUpper', x, a, b);
  return betaLowerTail(1 - x, x, b, a);
}

/** The x with P(X < x) = p. Errors and accuracy as {@link betaLower}. */
export function betaQuantile(p: number, a: number, b: number): number {
  requireBeta('betaQuantile', p, a, b);
  return p > 0.5 ? upperQuantile(1 - p, a, b) : lowerQuantile(p, a, b);
}

/** The x with P(X > x) = q, full accuracy for small q. Errors and accuracy as {@link betaLower}. */
export function betaUpperQuantile(q: number, a: number, b: number): number {
  requireBeta('betaUpperQuantile', q, a, b);
  return q > 0.5 ? lowerQuantile(1 - q, a, b) : upperQuantile(q, a, b);
}

function lowerQuantile(p: number, a: number, b: number): number {
  if (p === 0) return 0;
  const w = betaLogOdds(p, a, { b });
  return w < 0 ? Math.exp(w) / (1 + Math.exp(w)) : 1 / (1 + Math.exp(-w));
}

function upperQuantile(q: number, a: number, b: number): number {
  if (q === 0) return 1;
  const w = betaLogOdds(q, b, { b: a });
  return 1 / (1 + Math.exp(w));
}

function requireBeta(operation: string, x: number, a: number, b: number): void {
  requireProbability(operation, 'argument', x);
  requireFinitePositive(operation, 'first shape', a);
  requireFinitePositive(operation, 'second shape', b);
}
