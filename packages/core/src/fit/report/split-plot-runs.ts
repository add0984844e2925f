import type { CheckedFit } from '../diagnosis/checked-fit.ts';
import { plotNesting } from '../plot-nesting.ts';
import {
  deletedErrors,
  type PlotProjection,
  plotProjection,
  projected,
} from '../plot-projection.ts';
import type { SplitPlotFit, SplitPlotInput } from '../split-plot-result.ts';
import type { RunReport } from './fit-result.ts';
import type { Prepared } from './prepared.ts';

/** What the runs of a nested fit show, one by one and plot by plot. */
export interface SplitPlotRuns {
  readonly runs: RunReport[];
  readonly plots: CheckedFit['plots'];
  /** Share of the squares about the mean that a model made without each outermost plot predicts. */
  readonly predictive: number | null;
}

/**
 * Diagnostics of a nested fit, the variance ratios held. A run is judged against all others, those
 * of its own plot included: its residual is (Pe)ᵢ/Pᵢᵢ, with variance σ²/Pᵢᵢ; leverage is 1 − Pᵢᵢ/(V⁻¹)ᵢᵢ.
 * Without plots these are the usual ones.
 *
 * @source mean-shift and deletion formulas of generalised least squares: Cook & Weisberg (1982),
 *   Residuals and Influence in Regression, §2.2 and §3.1, carried to V by the projection P (derived)
 */
export function splitPlotRuns(
  labels: Prepared['runs'],
  input: SplitPlotInput,
  fit: SplitPlotFit,
): SplitPlotRuns {
  const nesting = plotNesting(input.strata, input.x.rows);
  const given = plotProjection({
    x: input.x,
    weights: input.weights,
    nesting,
    ratios: fit.inference.state.ratios,
  });
  const pull = projected(given, fit.residuals);
  const outer = nesting.groupings[0]!;
  const errors = deletedErrors(given, fit.residuals, outer.of, outer.count);
  return {
    runs: runReports(labels, { input, fit, given, pull }),
    plots: plotShifts(labels, outer, { fit, given, pull }),
    predictive: errors && predictiveShare(input.y, input.weights, errors),
  };
}

interface Pulled {
  readonly fit: SplitPlotFit;
  readonly given: PlotProjection;
  /** P e, shape (n). */
  readonly pull: Float64Array;
}

function runReports(
  labels: Prepared['runs'],
  { input, fit, given, pull }: Pulled & { readonly input: SplitPlotInput },
): RunReport[] {
  const { rows: n, projection, precision } = given;
  const { variance, residualDf: df } = fit.inference;
  const p = input.x.cols;
  return labels.map(({ row }, i) => {
    const own = projection[i * n + i]!;
    const leverage = Math.max(0, 1 - own / precision[i]!);
    const report = {
      row: row + 1,
      observed: input.y[i]!,
      fitted: fit.fitted[i]!,
      residual: fit.residuals[i]!,
      leverage,
    };
    if (leverage > 1 - 1e-9)
      return { ...report, studentised: null, deletedStudentised: null, cooksDistance: null };
    const studentised = pull[i]! / Math.sqrt(variance * own);
    const left = df - studentised * studentised;
    return {
      ...report,
      studentised,
      deletedStudentised:
        df > 1 && left > 1e-9 * df ? studentised * Math.sqrt((df - 1) / left) : null,
      cooksDistance: ((pull[i]! / own) ** 2 * (precision[i]! - own)) / (p * variance),
    };
  });
}

/** How far each outermost plot as a whole lies from where the others put it, in SDs. */
function plotShifts(
  labels: Prepared['runs'],
  { count, of }: { readonly count: number; readonly of: Int32Array },
  { fit, given, pull }: Pulled,
): CheckedFit['plots'] {
  const { rows: n, projection } = given;
  const { variance, residualDf: df } = fit.inference;
  const out: { name: string; t: number; row: number }[] = [];
  for (let g = 0; g < count; g++) {
    let sum = 0;
    let size = 0;
    for (let i = 0; i < n; i++) {
      if (of[i] !== g) continue;
      sum += pull[i]!;
      for (let k = 0; k < n; k++) if (of[k] === g) size += projection[i * n + k]!;
    }
    const first = labels[of.indexOf(g)]!;
    if (!(size > 1e-9)) continue;
    const t = sum / Math.sqrt(variance * size);
    const left = df - t * t;
    if (df > 1 && left > 1e-9 * df)
      out.push({
        name: first.plots[0] ?? '',
        t: t * Math.sqrt((df - 1) / left),
        row: first.row + 1,
      });
  }
  return out;
}

function predictiveShare(
  y: Float64Array,
  weights: Float64Array | undefined,
  errors: Float64Array,
): number | null {
  let sum = 0;
  let total = 0;
  for (let i = 0; i < y.length; i++) {
    sum += (weights?.[i] ?? 1) * y[i]!;
    total += weights?.[i] ?? 1;
  }
  const mean = sum / total;
  let about = 0;
  let wrong = 0;
  for (let i = 0; i < y.length; i++) {
    about += (weights?.[i] ?? 1) * (y[i]! - mean) ** 2;
    wrong += (weights?.[i] ?? 1) * errors[i]! ** 2;
  }
  return about > 0 ? 1 - wrong / about : null;
}

/**
 * Shares for a nested fit: how much of the variance of a reading on a new plot the terms explain, and
 * how well plots are predicted by a model made without them. There is no adjusted one.
 *
 * @source Nakagawa & Schielzeth (2013), A general and simple method for obtaining R² from generalized
 *   linear mixed-effects models, Methods Ecol. Evol. 4:133–142 (the marginal R²; from memory)
 */
export function splitPlotShares(
  { fitted, varianceComponents }: SplitPlotFit,
  predictive: number | null,
  plotName: string,
): {
  readonly rSquared: number | null;
  readonly predictiveRSquared: number | null;
  readonly sharesSay: string;
} {
  const n = fitted.length;
  const mean = fitted.reduce((sum, value) => sum + value / n, 0);
  const explained = fitted.reduce((sum, value) => sum + (value - mean) ** 2 / n, 0);
  const rest = varianceComponents.reduce((sum, { variance }) => sum + variance, 0);
  const total = explained + rest;
  const left =
    predictive === null
      ? `some ${plotName} alone carries a term, so prediction without it cannot be judged`
      : `predictive: each ${plotName} foretold without its own runs`;
  return {
    rSquared: total > 0 ? explained / total : null,
    predictiveRSquared: predictive,
    sharesSay: `R² is the terms’ share of the variance of a reading on a new ${plotName}; ${left}.`,
  };
}
