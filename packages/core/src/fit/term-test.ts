import { tTwoSided } from '../distribution/student-t.ts';
import type { Fitted, Saturated } from './least-squares.ts';

/** The partial t test of one coefficient; nulls where nothing can judge it. */
export interface TermTest {
  readonly estimate: number;
  readonly standardError: number | null;
  readonly df: number | null;
  readonly statistic: number | null;
  readonly p: number | null;
}

/**
 * Partial t tests of every coefficient: t = b / s(b), two-sided, on the residual df.
 *
 * A saturated model has estimates only. A perfect one keeps its standard errors, which are
 * rounding, but no test.
 *
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, section 5.4.7
 */
export function termTests(fit: Fitted | Saturated): TermTest[] {
  return Array.from(fit.coefficients, (estimate, j) => {
    if (fit.kind === 'saturated')
      return { estimate, standardError: null, df: null, statistic: null, p: null };
    const standardError = fit.standardErrors[j]!;
    const df = fit.dfResidual;
    if (fit.isPerfect) return { estimate, standardError, df, statistic: null, p: null };
    const statistic = estimate / standardError;
    return { estimate, standardError, df, statistic, p: tTwoSided(statistic, df) };
  });
}
