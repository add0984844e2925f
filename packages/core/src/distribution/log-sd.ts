import { requireFinitePositive } from './domain.ts';
import { digamma, trigamma } from './gamma-function.ts';

/** First two moments of ln s about ln σ. */
export interface LogSdMoments {
  /** E ln s − ln σ; negative: small samples understate the spread. */
  readonly bias: number;
  /** Var ln s; near 1/(2 df) for large df. */
  readonly variance: number;
}

/**
 * Bias and variance of the logarithm of a standard deviation estimated with df degrees of freedom
 * from normal readings: ½(ψ(df/2) − ln(df/2)) and ¼ψ′(df/2), from ln s = ln σ + ½ ln(χ²/df).
 *
 * @param df - degrees of freedom (effective, when readings are autocorrelated), above zero
 * @throws {DomainError} `out_of_domain` when df is not finite and above zero
 * @source Bartlett & Kendall (1946), Suppl. J. R. Stat. Soc. 8, 128-138 (from memory; derived above)
 */
export function logSdMoments(df: number): LogSdMoments {
  requireFinitePositive('logSdMoments', 'degrees of freedom', df);
  return {
    bias: 0.5 * (digamma(df / 2) - Math.log(df / 2)),
    variance: 0.25 * trigamma(df / 2),
  };
}
