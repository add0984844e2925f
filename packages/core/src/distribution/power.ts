import { requireFinite, requireFinitePositive, requireOpenProbability } from './domain.ts';
import { fUpperQuantile } from './f.ts';
import { noncentralFUpper } from './noncentral-f.ts';
import { noncentralTUpper } from './noncentral-t.ts';
import { tUpperQuantile } from './student-t.ts';

/**
 * Power of the two-sided t test: the chance that |T| exceeds its critical value, counting both tails.
 *
 * @param delta - noncentrality: true effect over its standard error; finite
 * @param df - error degrees of freedom, finite and above zero
 * @param alpha - risk of a false alarm, in (0, 1)
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @accuracy 1e-10 relative; tests/reference
 * @source definition; ISO 3534-1:2006, 1.46 (power of a test; from memory)
 */
export function tPowerTwoSided(delta: number, df: number, alpha: number): number {
  requireTest('tPowerTwoSided', delta, df, alpha);
  const critical = tUpperQuantile(alpha / 2, df);
  return Math.min(
    1,
    noncentralTUpper(critical, df, delta) + noncentralTUpper(critical, df, -delta),
  );
}

/** Power of the one-sided t test for an effect above zero. Parameters as {@link tPowerTwoSided}. */
export function tPowerOneSided(delta: number, df: number, alpha: number): number {
  requireTest('tPowerOneSided', delta, df, alpha);
  return noncentralTUpper(tUpperQuantile(alpha, df), df, delta);
}

/** What fixes the power of an F test. */
export interface FTest {
  /** Degrees of freedom of the effect, above zero. */
  readonly df1: number;
  /** Degrees of freedom of the error, above zero. */
  readonly df2: number;
  /** Noncentrality λ: N(Δ/2)²/σ² for a two-level effect Δ in N balanced runs. */
  readonly lambda: number;
  /** Risk of a false alarm, in (0, 1). */
  readonly alpha: number;
}

/**
 * Power of the F test: the upper tail of the noncentral F at the critical value.
 *
 * @throws {DomainError} `out_of_domain` when a field is outside its range
 * @accuracy 1e-10 relative; tests/reference
 */
export function fPower({ df1, df2, lambda, alpha }: FTest): number {
  requireOpenProbability('fPower', 'risk alpha', alpha);
  return noncentralFUpper(fUpperQuantile(alpha, df1, df2), { df1, df2, lambda });
}

function requireTest(operation: string, delta: number, df: number, alpha: number): void {
  requireFinite(operation, 'noncentrality', delta);
  requireFinitePositive(operation, 'degrees of freedom', df);
  requireOpenProbability(operation, 'risk alpha', alpha);
}
