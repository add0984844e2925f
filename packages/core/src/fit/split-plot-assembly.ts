import { tTwoSided, tUpperQuantile } from '../distribution/student-t.ts';
import { columnOf, type Dense } from '../linear/dense.ts';
import { times } from './covariance-view.ts';
import { kenwardRogerCovariance } from './kenward-roger.ts';
import type { PlotBasis } from './plot-basis.ts';
import { type PlotNesting, stratumOfColumn } from './plot-nesting.ts';
import type { RemlState } from './reml.ts';
import { varianceDf, varianceSlopes } from './satterthwaite.ts';
import type {
  PlotEffect,
  SplitPlotCoefficient,
  SplitPlotInference,
  StratumSummary,
  VarianceComponent,
} from './split-plot-result.ts';
import type { VarianceCovariance } from './variance-information.ts';

type FullRank = Extract<PlotBasis, { kind: 'full-rank' }>;

/** What later questions need, from the model at its ratios and the variances' own covariance. */
export function splitPlotInference(
  basis: FullRank,
  state: RemlState,
  variance: number,
  covariance: VarianceCovariance | undefined,
): SplitPlotInference {
  const { back } = basis;
  const p = back.rows;
  const estimates = basis.ordinary.slice();
  for (let j = 0; j < p; j++)
    for (let k = j; k < p; k++) estimates[j]! += back.data[j * p + k]! * state.coefficients[k]!;
  const expected = covariance?.expected;
  return {
    state,
    back,
    estimates,
    variance,
    adjusted: expected === undefined ? state.phi : kenwardRogerCovariance(state, expected),
    expected,
    observed: covariance?.observed,
    residualDf: state.data.rows - state.data.cols,
  };
}

/** Estimates with Kenward–Roger errors, df, t tests and intervals. */
export function splitPlotCoefficients(
  x: Dense,
  names: readonly string[],
  inference: SplitPlotInference,
  nesting: PlotNesting,
  confidence: number,
): SplitPlotCoefficient[] {
  const { state, back, estimates, variance, adjusted, expected, observed, residualDf } = inference;
  const p = estimates.length;
  return Array.from(estimates, (estimate, j) => {
    const row = back.data.slice(j * p, (j + 1) * p);
    const { value, slopes } = varianceSlopes(state, row);
    const standardError = Math.sqrt(variance * quadraticForm(row, adjusted));
    const df = expected === undefined ? residualDf : varianceDf(value, slopes, expected);
    const t = estimate / standardError;
    const half = tUpperQuantile((1 - confidence) / 2, df) * standardError;
    return {
      name: names[j]!,
      estimate,
      standardError,
      glsStandardError: Math.sqrt(variance * value),
      df,
      t,
      p: Number.isNaN(t) ? 1 : tTwoSided(t, df),
      low: estimate - half,
      high: estimate + half,
      satterthwaiteDf: observed === undefined ? residualDf : varianceDf(value, slopes, observed),
      stratum: stratumOfColumn(columnOf(x, j), nesting),
    };
  });
}

/** lᵀ C l, l shape (p), C shape (p, p). */
export function quadraticForm(l: Float64Array, c: Float64Array): number {
  const p = l.length;
  const half = times(l, 1, c, p);
  let s = 0;
  for (let j = 0; j < p; j++) s += half[j]! * l[j]!;
  return s;
}

/** Covariance of the basis coefficients carried to the terms, shape (p, p). */
export function covarianceInTerms(c: Float64Array, { back, variance }: SplitPlotInference): Dense {
  const p = back.rows;
  const half = times(back.data, p, c, p);
  const data = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) {
      let s = 0;
      for (let k = j; k < p; k++) s += half[i * p + k]! * back.data[j * p + k]!;
      data[i * p + j] = variance * s;
    }
  }
  return { rows: p, cols: p, data };
}

/** Best linear unbiased predictions r·ZᵀPy of the plot effects, variances taken as known. */
export function plotEffects(inference: SplitPlotInference, nesting: PlotNesting): PlotEffect[] {
  const { state, variance } = inference;
  return nesting.groupings.flatMap(({ count, labels }, k) => {
    const ratio = state.ratios[k]!;
    const { pull } = state.plots[k]!;
    const block = state.projected[k]![k]!;
    return Array.from({ length: count }, (_, g) => ({
      stratum: k,
      label: labels[g]!,
      effect: ratio * pull[g]!,
      standardError: Math.sqrt(
        variance * Math.max(0, ratio - ratio * ratio * block[g * count + g]!),
      ),
    }));
  });
}

/** Restricted log likelihood with all constants at the given residual variance. */
export function restrictedLogLikelihood(
  { logRoot, logWeights }: FullRank,
  state: RemlState,
  variance: number,
): number {
  const df = state.data.rows - state.data.cols;
  const logDeterminants = state.criterion - df * (1 + Math.log((2 * Math.PI * state.squares) / df));
  const atVariance = df * Math.log(2 * Math.PI * variance) + state.squares / variance;
  return -(logDeterminants + atVariance + 2 * logRoot - logWeights) / 2;
}

/** What the reader must be told besides the numbers. */
export function splitPlotRemarks(
  components: readonly VarianceComponent[],
  strata: readonly StratumSummary[],
  coefficients: readonly SplitPlotCoefficient[],
): string[] {
  const remarks: string[] = [];
  const starved = coefficients.filter(({ df }) => df < 1);
  if (starved.length > 0) {
    const which = starved.map(({ name, df }) => `${name} (df ${df.toPrecision(2)})`).join(', ');
    remarks.push(
      `The Kenward–Roger approximation has less than 1 df for ${which}: its intervals there are wide beyond use. Add whole plots, or compare with the variance ratio fixed at 1.`,
    );
  }
  for (const { name, isAtBoundary } of components) {
    if (!isAtBoundary) continue;
    remarks.push(
      `The variance among ${name} is estimated as zero, which is common with few plots; terms set once a plot may look surer than they are. Compare with the variance ratio fixed at 1.`,
    );
  }
  for (const { df, terms, words } of strata) {
    if (df > 0 && df < 3 && terms.length > 0) remarks.push(`Only ${df} df: ${words}.`);
  }
  return remarks;
}
