import { DomainError } from '../error/domain-error.ts';
import { betaQuantile, betaUpperQuantile } from './beta.ts';
import { requireOpenProbability, requireProbability, requireWhole } from './domain.ts';
import { betaLower as betaLowerTail } from './incomplete-beta.ts';
import { logBetaKernel } from './log-kernel.ts';
import type { Limits } from './poisson.ts';

/**
 * ln P(K = count) in `trials` trials; −∞ for an impossible count.
 *
 * @param count - whole, 0 to trials
 * @param trials - whole, at least 1
 * @param share - chance of one trial, in [0, 1]
 * @throws {DomainError} `out_of_domain` or `count_above_trials` when an argument is outside its range
 * @accuracy 1e-12 absolute
 * @source Loader (2000), Fast and accurate computation of binomial probabilities (from memory)
 */
export function binomialLogDensity(count: number, trials: number, share: number): number {
  requireBinomial('binomialLogDensity', count, trials);
  requireProbability('binomialLogDensity', 'share', share);
  if (count === 0) return trials * Math.log1p(-share);
  if (count === trials) return trials * Math.log(share);
  if (share === 0 || share === 1) return Number.NEGATIVE_INFINITY;
  const rest = trials - count;
  return logBetaKernel(share, 1 - share, count, rest) + Math.log(trials / (count * rest));
}

/**
 * P(K ≤ count) in `trials` trials, by its identity with the beta tail.
 *
 * @param count - whole, 0 to trials
 * @param trials - whole, at least 1
 * @param share - chance of one trial, in [0, 1]
 * @throws {DomainError} `out_of_domain` or `count_above_trials` when an argument is outside its range
 * @accuracy 1e-12 relative
 * @source DLMF 8.17.5; Abramowitz & Stegun 26.5.24
 */
export function binomialLower(count: number, trials: number, share: number): number {
  requireBinomial('binomialLower', count, trials);
  requireProbability('binomialLower', 'share', share);
  return count === trials ? 1 : betaLowerTail(1 - share, share, trials - count, count + 1);
}

/** P(K > count), correct in relative terms for small tails. Otherwise as {@link binomialLower}. */
export function binomialUpper(count: number, trials: number, share: number): number {
  requireBinomial('binomialUpper', count, trials);
  requireProbability('binomialUpper', 'share', share);
  return count === trials ? 0 : betaLowerTail(share, 1 - share, count + 1, trials - count);
}

/**
 * Exact two-sided confidence limits of a share from `count` of `trials`.
 *
 * @param confidence - in (0, 1); half of the rest goes to each side
 * @throws {DomainError} `out_of_domain` or `count_above_trials` when an argument is outside its range
 * @accuracy 1e-12 relative; tests/core/distribution
 * @source Clopper & Pearson (1934), Biometrika 26, 404-413
 */
export function binomialLimits(count: number, trials: number, confidence: number): Limits {
  requireBinomial('binomialLimits', count, trials);
  requireOpenProbability('binomialLimits', 'confidence', confidence);
  const side = (1 - confidence) / 2;
  return {
    low: count === 0 ? 0 : betaQuantile(side, count, trials - count + 1),
    high: count === trials ? 1 : betaUpperQuantile(side, count + 1, trials - count),
  };
}

function requireBinomial(operation: string, count: number, trials: number): void {
  requireWhole(operation, 'number of trials', { value: trials, least: 1 });
  requireWhole(operation, 'count', { value: count, least: 0 });
  if (count > trials) {
    throw new DomainError(
      'count_above_trials',
      `${operation}: count must not exceed the trials; got ${count} of ${trials}. Exchange or correct them.`,
      { operation, count, trials },
    );
  }
}
