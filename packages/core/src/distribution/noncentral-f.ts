import { requireFiniteNonNegative, requireFinitePositive } from './domain.ts';
import { fLower, fUpper } from './f.ts';
import { betaLogLower } from './incomplete-beta.ts';
import { logBetaKernel } from './log-kernel.ts';
import { logMixtureLower, logMixtureUpper, type TailLadder } from './poisson-mixture.ts';

/** Degrees of freedom and noncentrality of an F statistic; df above zero, lambda at least zero, all finite. */
export interface NoncentralF {
  readonly df1: number;
  readonly df2: number;
  /** Sum of squared standardised means, λ; power of an F test is the upper tail at the critical value. */
  readonly lambda: number;
}

/**
 * P(F > x) of the noncentral F distribution: a Poisson(lambda/2) mixture of beta tails with
 * shapes df1/2 + j and df2/2, summed in positive terms only.
 *
 * @param x - statistic, finite and at least zero
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @accuracy 1e-12 relative for lambda up to 1e4; tests/reference
 * @source Johnson, Kotz & Balakrishnan (1995), Continuous Univariate Distributions 2, ch. 30 (from
 *   memory; the mixture is that of the noncentral chi-squared over an independent chi-squared)
 */
export function noncentralFUpper(x: number, { df1, df2, lambda }: NoncentralF): number {
  requireArguments('noncentralFUpper', x, { df1, df2, lambda });
  if (lambda === 0) return fUpper(x, df1, df2);
  if (x === 0) return 1;
  return Math.min(1, Math.exp(logMixtureUpper(lambda / 2, betaLadder((df1 / df2) * x, df1, df2))));
}

/** P(F < x). Parameters, errors and accuracy as {@link noncentralFUpper}. */
export function noncentralFLower(x: number, { df1, df2, lambda }: NoncentralF): number {
  requireArguments('noncentralFLower', x, { df1, df2, lambda });
  if (lambda === 0) return fLower(x, df1, df2);
  if (x === 0) return 0;
  return Math.min(1, Math.exp(logMixtureLower(lambda / 2, betaLadder((df1 / df2) * x, df1, df2))));
}

/** I_u(a + j, b) as a ladder: I_u(a, b) − I_u(a + 1, b) = uᵃ vᵇ/(a B(a, b)), DLMF 8.17.20. */
function betaLadder(odds: number, df1: number, df2: number): TailLadder {
  const u = odds / (1 + odds);
  const v = 1 / (1 + odds);
  const a = df1 / 2;
  const b = df2 / 2;
  return {
    logLower: (j) => betaLogLower(u, v, a + j, b),
    logUpper: (j) => betaLogLower(v, u, b, a + j),
    logStep: (j) => logBetaKernel(u, v, a + j, b) - Math.log(a + j),
    stepRatio: (j) => (u * (a + b + j)) / (a + j + 1),
  };
}

function requireArguments(operation: string, x: number, { df1, df2, lambda }: NoncentralF): void {
  requireFiniteNonNegative(operation, 'statistic', x);
  requireFinitePositive(operation, 'numerator degrees of freedom', df1);
  requireFinitePositive(operation, 'denominator degrees of freedom', df2);
  requireFiniteNonNegative(operation, 'noncentrality', lambda);
}
