import { fUpper } from '../distribution/f.ts';
import { qrFactor } from '../linear/qr.ts';
import { refinedSolution } from '../linear/refinement.ts';
import type { Estimates, Fitted, Saturated } from './least-squares.ts';

/** One row of an analysis of variance; f and p are null where there is nothing to test against. */
export interface AnovaRow {
  readonly source: string;
  readonly df: number;
  readonly ss: number;
  readonly ms: number | null;
  readonly f: number | null;
  readonly p: number | null;
}

/** Columns that are judged together, such as the contrasts of one factor with named levels. */
export interface TermGroup {
  readonly source: string;
  readonly columns: readonly number[];
}

/**
 * `model`, `residual` and `total` are about the mean when the model has a constant column, else
 * about zero. `sequential`: what each source adds after those above it. `partial`: what it adds
 * after all others.
 */
export interface Anova {
  readonly model: AnovaRow;
  readonly residual: AnovaRow;
  readonly total: AnovaRow;
  readonly sequential: readonly AnovaRow[];
  readonly partial: readonly AnovaRow[];
}

/**
 * Analysis of variance of a fit, against its own residual.
 *
 * @param groups - sources in model order; the constant column is left out of them
 * @source ISO 3534-3:2013, 3.3.8 (analysis of variance); partial sums as bᵀC⁻¹b, Searle (1971),
 *   Linear Models, §3.6
 */
export function anova(fit: Fitted | Saturated, groups: readonly TermGroup[]): Anova {
  const dfTotal = fit.residuals.length - (fit.constantColumn === null ? 0 : 1);
  const dfModel = dfTotal - fit.dfResidual;
  const ms = fit.kind === 'fitted' && !fit.isPerfect ? fit.rss / fit.dfResidual : null;
  const row = (source: string, df: number, ss: number): AnovaRow => {
    const f = ms === null || df === 0 ? null : ss / df / ms;
    const p = f === null ? null : fUpper(f, df, fit.dfResidual);
    return { source, df, ss, ms: df === 0 ? null : ss / df, f, p };
  };
  const plain = (source: string, df: number, ss: number): AnovaRow => ({
    source,
    df,
    ss,
    ms: df === 0 ? null : ss / df,
    f: null,
    p: null,
  });
  return {
    model: row('model', dfModel, modelSumOfSquares(fit)),
    residual: plain('residual', fit.dfResidual, fit.rss),
    total: plain('total', dfTotal, fit.totalSs),
    sequential: groups.map(({ source, columns }) =>
      row(
        source,
        columns.length,
        columns.reduce((sum, j) => sum + fit.sequentialSs[j]!, 0),
      ),
    ),
    partial: groups.map(({ source, columns }) =>
      row(source, columns.length, partialSumOfSquares(fit, columns)),
    ),
  };
}

/** Summed from the parts, not total − rss, which would cancel when the model explains little. */
function modelSumOfSquares(fit: Estimates): number {
  let sum = 0;
  for (let j = 0; j < fit.sequentialSs.length; j++)
    if (j !== fit.constantColumn) sum += fit.sequentialSs[j]!;
  // The parts are about the mean only when the constant column came first.
  return (fit.constantColumn ?? 0) === 0 ? sum : Math.max(0, fit.totalSs - fit.rss);
}

/** Sum of squares lost when `columns` leave the model: bᵀ C⁻¹ b over their block of (XᵀWX)⁻¹. */
export function partialSumOfSquares(fit: Estimates, columns: readonly number[]): number {
  const p = fit.coefficients.length;
  const c = fit.unscaledCovariance.data;
  if (columns.length === 1) {
    const j = columns[0]!;
    return fit.coefficients[j]! ** 2 / c[j * p + j]!;
  }
  const size = columns.length;
  const block = Float64Array.from({ length: size * size }, (_, at) => {
    const i = Math.floor(at / size);
    return c[columns[i]! * p + columns[at % size]!]!;
  });
  const b = Float64Array.from(columns, (j) => fit.coefficients[j]!);
  const factor = qrFactor({ rows: size, cols: size, data: block }, 0);
  const solved = refinedSolution(b, factor).coefficients;
  return b.reduce((sum, value, i) => sum + value * solved[i]!, 0);
}
