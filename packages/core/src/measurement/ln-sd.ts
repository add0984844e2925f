import { DomainError } from '../error/domain-error.ts';

/**
 * Sampling variance of ln s for a normal sample: ψ′(ν/2)/4. It depends on the degrees of freedom
 * only, which is why a spread is modelled as its logarithm; 1/(2ν) is its first term.
 *
 * @param degreesOfFreedom - ν > 0, effective ones when readings repeat one another
 * @returns variance of ln s; dimensionless; > 0
 * @throws {DomainError} `degrees_of_freedom_out_of_range` when ν is not positive
 * @accuracy 1e-12 relative against mpmath; tests/core/measurement/ln-sd.test.ts
 * @source Bartlett & Kendall (1946), The statistical analysis of variance-heterogeneity and the
 *   logarithmic transformation, Suppl. J. R. Statist. Soc. 8 (from memory); ln χ²_ν has variance
 *   ψ′(ν/2), and ln s = ½ ln χ²_ν + constant
 */
export function lnSdVariance(degreesOfFreedom: number): number {
  requirePositive('lnSdVariance', degreesOfFreedom);
  return trigamma(degreesOfFreedom / 2) / 4;
}

/**
 * The degrees of freedom at which s² has the relative variance 2/ν: ν = 2·s⁴/Var(s²)
 * (Satterthwaite 1946).
 */
export function matchingDegreesOfFreedom(variance: number, varianceOfVariance: number): number {
  return (2 * variance * variance) / varianceOfVariance;
}

function requirePositive(operation: string, degreesOfFreedom: number): void {
  if (degreesOfFreedom > 0) return;
  throw new DomainError(
    'degrees_of_freedom_out_of_range',
    `${operation}: degrees of freedom must be positive; got ${degreesOfFreedom}. Take a longer stretch.`,
    { degreesOfFreedom },
  );
}

/** ψ′(x), x > 0: recurrence up to 12, then the asymptotic series with Bernoulli numbers. */
function trigamma(x: number): number {
  let shifted = x;
  let sum = 0;
  for (; shifted < 12; shifted++) sum += 1 / (shifted * shifted);
  const r = 1 / (shifted * shifted);
  const tail = r * (1 / 6 - r * (1 / 30 - r * (1 / 42 - r * (1 / 30 - r * (5 / 66)))));
  return sum + (1 + tail) / shifted + r / 2;
}
