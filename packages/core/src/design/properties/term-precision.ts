import { fPower, tPowerTwoSided } from '../../distribution/power.ts';
import { DomainError } from '../../error/domain-error.ts';
import { cholesky, choleskySolve } from '../../linear/cholesky.ts';
import { intercept, type Powers, termKey } from '../../term/term.ts';
import type { DfBudget, StratumName } from './degrees-of-freedom.ts';
import { coefficientVariances, type DesignInformation } from './design-information.ts';

/** The change worth finding, against the noise it stands in. */
export interface StatedEffect {
  /**
   * Size of the coefficient in coded units: half the change from low to high for a main effect, the
   * rise from centre to edge for a square; unit of the response.
   */
  readonly coefficient: number;
  /** Standard deviation between cells set alike, unit of the response; above 0. */
  readonly sigma: number;
  /** Risk of a false alarm, in (0, 1). */
  readonly alpha: number;
}

/** How well one term can be told. */
export interface TermPrecision {
  readonly name: string;
  readonly powers: Powers;
  /** Standard error of the coefficient over σ(cell); null when the runs cannot tell the term. */
  readonly standardError: number | null;
  /** See {@link varianceInflation}; null as the standard error is, and for the intercept. */
  readonly varianceInflation: number | null;
  /** Which error the term is judged against, and on how many degrees of freedom. */
  readonly stratum: StratumName;
  readonly df: number;
  /** Chance to find the stated effect; null when it cannot be told or no df are left. */
  readonly power: number | null;
}

/**
 * Standard error, variance inflation, stratum and power of every model term.
 *
 * A term judged between whole plots gets the whole plots' error df, whatever the number of cells.
 * @source Jones & Goos (2007), Applied Statistics 56:347–364 (df by stratum, as the containment rule)
 */
export function termPrecisions(
  information: DesignInformation,
  budget: DfBudget,
  effect: StatedEffect,
): TermPrecision[] {
  const variances = coefficientVariances(information);
  const inflations = varianceInflations(information);
  const interceptKey = termKey(intercept);
  return information.design.terms.map((powers, column) => {
    const variance = variances[column]!;
    const standardError = variance === null ? null : Math.sqrt(variance);
    const { name: stratum, error: df } = budget.strata[budget.stratumOf[column]!]!;
    return {
      name: information.names[column]!,
      powers,
      standardError,
      varianceInflation: termKey(powers) === interceptKey ? null : inflations[column]!,
      stratum,
      df,
      power: standardError === null ? null : coefficientPower({ ...effect, standardError, df }),
    };
  });
}

/**
 * Chance that the two-sided t test of one coefficient finds it, both tails counted; null without
 * error degrees of freedom.
 *
 * @param effect - `standardError` is that of the coefficient over σ
 * @accuracy 1e-8 relative against tabled powers; tests/reference
 */
export function coefficientPower(
  effect: StatedEffect & { readonly standardError: number; readonly df: number },
): number | null {
  const { coefficient, sigma, alpha, standardError, df } = effect;
  requireSigma(sigma);
  if (df <= 0) return null;
  return tPowerTwoSided(Math.abs(coefficient) / (sigma * standardError), df, alpha);
}

/**
 * Chance that the joint F test of several coefficients (the contrasts of a named factor, say) finds
 * them: noncentrality λ = βᵀ Cov⁻¹ β, Cov being their covariance. Null when a column cannot be told
 * or no error df are left; the error is that of the innermost stratum among the columns.
 *
 * @param test - `columns` of the information and their coefficients, unit of the response
 */
export function jointPower(
  information: DesignInformation,
  budget: DfBudget,
  test: {
    readonly columns: readonly number[];
    readonly coefficients: readonly number[];
    readonly sigma: number;
    readonly alpha: number;
  },
): number | null {
  const { columns, coefficients, sigma, alpha } = test;
  requireSigma(sigma);
  const unclear = new Set(information.aliased?.involved ?? []);
  const places = columns.map((column) =>
    unclear.has(column) ? -1 : information.kept.indexOf(column),
  );
  const df2 = Math.min(...columns.map((c) => budget.strata[budget.stratumOf[c]!]!.error));
  if (places.includes(-1) || df2 <= 0) return null;
  const m = columns.length;
  const { data, cols } = information.covariance;
  const cov = Float64Array.from(
    { length: m * m },
    (_, i) => data[places[Math.floor(i / m)]! * cols + places[i % m]!]!,
  );
  const factor = cholesky(cov, m);
  if (factor.kind !== 'factored') return null;
  const beta = Float64Array.from(coefficients, (coefficient) => coefficient / sigma);
  const solved = choleskySolve(factor.lower, m, beta);
  const lambda = beta.reduce((sum, value, i) => sum + value * solved[i]!, 0);
  return fPower({ df1: m, df2, lambda, alpha });
}

function requireSigma(sigma: number): void {
  if (sigma > 0 && Number.isFinite(sigma)) return;
  throw new DomainError(
    'out_of_domain',
    `power: the standard deviation sigma must be above 0; got ${sigma}. Give the noise between cells set alike.`,
    { sigma },
  );
}

/**
 * Variance inflation of each column: its coefficient's variance over what it would be if the column
 * were orthogonal to all others but the mean. 1 at best; null where the runs cannot tell the
 * column or it does not vary.
 *
 * With V = I this is 1/(1 − R²) of the column on the others.
 * @source Belsley, Kuh & Welsch (1980), Regression Diagnostics, section 3.2
 */
export function varianceInflations(information: DesignInformation): (number | null)[] {
  const { whitened, design } = information;
  const { rows, cols, data } = whitened;
  const mean = design.terms.findIndex((powers) => Object.keys(powers).length === 0);
  return coefficientVariances(information).map((variance, j) => {
    if (variance === null || j === mean) return null;
    let square = 0;
    let cross = 0;
    let meanSquare = 0;
    for (let i = 0; i < rows; i++) {
      const value = data[i * cols + j]!;
      const one = mean < 0 ? 0 : data[i * cols + mean]!;
      square += value * value;
      cross += value * one;
      meanSquare += one * one;
    }
    const alone = meanSquare > 0 ? square - (cross * cross) / meanSquare : square;
    return alone > 1e-12 * square ? variance * alone : null;
  });
}
