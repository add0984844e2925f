import { fUpper } from '../distribution/f.ts';
import type { Fitted, Saturated } from './least-squares.ts';

/** Does the model bend where the runs bend? Judged against runs repeated at one setting. */
export type LackOfFit =
  | {
      readonly kind: 'tested';
      readonly f: number;
      readonly pValue: number;
      readonly ss: number;
      readonly df: number;
      readonly pureErrorSs: number;
      readonly pureErrorDf: number;
      readonly pureErrorSd: number;
    }
  | { readonly kind: 'no-replicates' }
  | { readonly kind: 'saturated'; readonly terms: number; readonly distinctRuns: number }
  | { readonly kind: 'identical-replicates'; readonly pureErrorDf: number };

/**
 * Lack of fit against pure error: F = (ss_lof / df_lof) / (ss_pe / df_pe).
 *
 * @param y - response, shape (n)
 * @param groups - see `replicateGroups`; shape (n)
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, section 4.4.4.6
 */
export function lackOfFit(fit: Fitted | Saturated, y: Float64Array, groups: Int32Array): LackOfFit {
  const { distinct, ss: pureErrorSs, size } = pureError(y, groups, fit.weights);
  const pureErrorDf = y.length - distinct;
  if (pureErrorDf === 0) return { kind: 'no-replicates' };
  const terms = fit.coefficients.length;
  const df = distinct - terms;
  if (df <= 0) return { kind: 'saturated', terms, distinctRuns: distinct };
  // Repeats that agree to the last place were copied or rounded, and cannot serve as a yardstick.
  if (pureErrorSs <= (4 * Number.EPSILON) ** 2 * size)
    return { kind: 'identical-replicates', pureErrorDf };
  const ss = Math.max(0, fit.rss - pureErrorSs);
  const f = ss / df / (pureErrorSs / pureErrorDf);
  return {
    kind: 'tested',
    f,
    pValue: fUpper(f, df, pureErrorDf),
    ss,
    df,
    pureErrorSs,
    pureErrorDf,
    pureErrorSd: Math.sqrt(pureErrorSs / pureErrorDf),
  };
}

/** The outcome in words. */
export function describeLackOfFit(result: LackOfFit): string {
  switch (result.kind) {
    case 'tested':
      return `F = ${result.f.toPrecision(4)} on ${result.df} and ${result.pureErrorDf} df, p = ${result.pValue.toPrecision(3)}`;
    case 'no-replicates':
      return 'not testable: no replicated runs';
    case 'saturated':
      return `not testable: ${result.terms} terms on ${result.distinctRuns} distinct runs`;
    case 'identical-replicates':
      return `not testable: the replicated runs agree to the last digit (${result.pureErrorDf} df)`;
  }
}

function pureError(y: Float64Array, groups: Int32Array, weights: Float64Array | null) {
  const distinct = groups.reduce((top, group) => Math.max(top, group + 1), 0);
  const sums = new Float64Array(distinct);
  const totals = new Float64Array(distinct);
  const firsts = new Float64Array(distinct).fill(Number.NaN);
  for (let i = 0; i < y.length; i++) {
    const g = groups[i]!;
    const weight = weights ? weights[i]! : 1;
    if (Number.isNaN(firsts[g]!)) firsts[g] = y[i]!;
    // Deviations from the first run of the group, so that a large mean costs no digits.
    sums[g]! += weight * (y[i]! - firsts[g]!);
    totals[g]! += weight;
  }
  let ss = 0;
  let size = 0;
  for (let i = 0; i < y.length; i++) {
    const g = groups[i]!;
    const weight = weights ? weights[i]! : 1;
    const apart = y[i]! - firsts[g]! - sums[g]! / totals[g]!;
    ss += weight * apart * apart;
    size += weight * y[i]! * y[i]!;
  }
  return { distinct, ss, size };
}
