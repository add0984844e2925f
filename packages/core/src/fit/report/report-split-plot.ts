import { contrastTest } from '../contrast-test.ts';
import { leastSquares } from '../least-squares.ts';
import { fitSplitPlot } from '../split-plot.ts';
import { type SplitPlotLackOfFit, splitPlotLackOfFit } from '../split-plot-lack-of-fit.ts';
import type { SplitPlotFit, SplitPlotInput, SplitPlotRefusal } from '../split-plot-result.ts';
import { contrastReports } from './contrast-report.ts';
import { emptyFit } from './empty-fit.ts';
import type {
  CannotSay,
  CannotSayKind,
  LackOfFitReport,
  ResponseFit,
  SourceTest,
  VarianceSensitivity,
} from './fit-result.ts';
import { termGroups, treatmentGroups } from './model-columns.ts';
import { type PlotStrata, strataOf } from './plot-strata.ts';
import { covarianceRows, finiteOrNull, type Prepared } from './prepared.ts';
import type { Reported } from './reported.ts';
import { varianceSensitivity } from './sensitivity.ts';
import { splitPlotRuns, splitPlotShares } from './split-plot-runs.ts';
import { stationaryReport } from './stationary-report.ts';

/** Whole plots and plots within them as labels. */
export const plotStrata = ({ plotNames, runs }: Prepared): PlotStrata => strataOf(runs, plotNames);

/** A response whose runs come in plots, by restricted maximum likelihood. */
export function reportSplitPlot(prepared: Prepared, plots: PlotStrata): Reported {
  const input = splitPlotInput(prepared, plots);
  const result = fitSplitPlot(input);
  if (result.kind !== 'fitted') return { fit: refusedReport(prepared, result), plots: [] };
  return fittedReport(prepared, result, input);
}

function splitPlotInput(
  { model, y, weights }: Prepared,
  { strata, names }: PlotStrata,
): SplitPlotInput {
  return {
    x: model.x,
    y,
    strata,
    names: model.columns.map((column) => column.name),
    strataNames: names,
    ...(weights ? { weights } : {}),
  };
}

/** The response by every estimate of the variance between plots; null where there are no plots. */
export function splitPlotSensitivity(prepared: Prepared): VarianceSensitivity | null {
  const { kind } = prepared.response;
  const plots = plotStrata(prepared);
  if ((kind !== 'continuous' && kind !== 'spread') || plots.strata.length === 0) return null;
  const input = splitPlotInput(prepared, plots);
  const reml = fitSplitPlot(input);
  return varianceSensitivity(input, reml, treatmentGroups(prepared.runs), prepared.carried);
}

function fittedReport(prepared: Prepared, fit: SplitPlotFit, input: SplitPlotInput): Reported {
  const { response, cells, model } = prepared;
  const estimates = Float64Array.from(fit.coefficients, (term) => term.estimate);
  const stationary = stationaryReport(prepared, estimates, fit.adjustedCovariance.data);
  const residual = fit.varianceComponents.at(-1)!;
  const looked = splitPlotRuns(prepared.runs, input, fit);
  const covariance = covarianceRows(fit.adjustedCovariance);
  const asked = contrastReports(prepared, {
    terms: fit.coefficients,
    covariance,
    df: (weights) =>
      finiteOrNull(contrastTest(fit, { rows: 1, cols: weights.length, data: weights }).ddf),
  });
  const told: ResponseFit = {
    ...emptyFit(response, cells, []),
    method: 'restricted maximum likelihood',
    terms: fit.coefficients.map((term, j) => ({
      name: model.columns[j]!.name,
      powers: model.columns[j]!.powers,
      estimate: term.estimate,
      standardError: term.standardError,
      df: finiteOrNull(term.df),
      statistic: term.t,
      p: term.p,
      low: term.low,
      high: term.high,
    })),
    covariance,
    sourceTests: sourceTests(prepared, fit),
    residualSd: residual.standardDeviation,
    ...splitPlotShares(fit, looked.predictive, input.strataNames![0]!),
    varianceComponents: fit.varianceComponents.map((component) => ({
      name: component.name,
      variance: component.variance,
      standardDeviation: component.standardDeviation,
      low: finiteOrNull(component.low),
      high: finiteOrNull(component.high),
      isAtBoundary: component.isAtBoundary,
    })),
    lackOfFit: lackOfFitReport(splitPlotLackOfFit(input, treatmentGroups(prepared.runs))),
    strata: fit.strata.map((stratum) => stratum.words),
    contrasts: asked.contrasts,
    stationaryPoint: stationary.report,
    runs: looked.runs,
    cannotSay: [...prepared.cannotSay, ...stationary.cannotSay, ...asked.cannotSay],
    remarks: [...fit.remarks],
  };
  return { fit: told, plots: looked.plots };
}

function lackOfFitReport(result: SplitPlotLackOfFit): LackOfFitReport {
  const nothing = { ss: null, pureErrorSs: null };
  const untested = { f: null, p: null, pValue: null, df: null, pureErrorDf: null, ...nothing };
  switch (result.kind) {
    case 'tested': {
      const { f, df, dfError, pValue } = result;
      const says = `F = ${f.toPrecision(4)} on ${df} and ${dfError.toFixed(1)} df, p = ${pValue.toPrecision(3)}`;
      return { kind: 'tested', says, f, p: pValue, pValue, df, pureErrorDf: dfError, ...nothing };
    }
    case 'saturated': {
      const says = `not testable: ${result.terms} terms on ${result.distinctRuns} distinct runs`;
      return { kind: 'saturated', says, ...untested };
    }
    case 'in-plots':
      return { kind: 'in-plots', says: `not testable: ${result.words}`, ...untested };
  }
}

function sourceTests({ model }: Prepared, fit: SplitPlotFit): SourceTest[] {
  const p = model.columns.length;
  return termGroups(model.columns).map(({ source, columns }) => {
    const data = new Float64Array(columns.length * p);
    for (const [i, j] of columns.entries()) data[i * p + j] = 1;
    const test = contrastTest(fit, { rows: columns.length, cols: p, data });
    return {
      source,
      test: 'f' as const,
      df: test.ndf,
      dfError: finiteOrNull(test.ddf),
      statistic: test.f,
      p: test.p,
      likelihoodRatio: null,
    };
  });
}

const refusalKinds: Record<SplitPlotRefusal['kind'], CannotSayKind> = {
  'one-whole-plot': 'too-few-whole-plots',
  'too-few-whole-plots': 'too-few-whole-plots',
  aliased: 'aliased',
  'saturated-within-plots': 'saturated',
  'no-residual-variation': 'perfect-fit',
};

/** Estimates only: errors that ignored the plots would promise too much. */
function refusedReport(prepared: Prepared, refusal: SplitPlotRefusal): ResponseFit {
  const { response, cells, model, y, runs, weights, rankTolerance } = prepared;
  const terms = 'terms' in refusal ? [...refusal.terms] : undefined;
  const why: CannotSay = {
    kind: refusalKinds[refusal.kind],
    says: `${refusal.words} Estimates are given without errors or tests.`,
    ...(terms ? { terms } : {}),
  };
  const base = emptyFit(response, cells, [...prepared.cannotSay, why]);
  const fit = leastSquares({ x: model.x, y, rankTolerance, ...(weights ? { weights } : {}) });
  if (fit.kind === 'aliased') return base;
  const stationary = stationaryReport(prepared, fit.coefficients, null);
  return {
    ...base,
    method: weights ? 'weighted least squares' : 'least squares',
    terms: model.columns.map(({ name, powers }, j) => ({
      name,
      powers,
      estimate: fit.coefficients[j]!,
      standardError: null,
      df: null,
      statistic: null,
      p: null,
      low: null,
      high: null,
    })),
    stationaryPoint: stationary.report,
    runs: runReports(runs, y, fit.fitted, fit.residuals),
    cannotSay: [...base.cannotSay, ...stationary.cannotSay],
  };
}

/** Runs of a model without leverages of its own. */
export function runReports(
  runs: Prepared['runs'],
  observed: Float64Array,
  fitted: Float64Array,
  residuals: Float64Array,
  leverages?: Float64Array,
) {
  return runs.map(({ row }, i) => ({
    row: row + 1,
    observed: observed[i]!,
    fitted: fitted[i]!,
    residual: residuals[i]!,
    leverage: leverages?.[i] ?? null,
    studentised: null,
    deletedStudentised: null,
    cooksDistance: null,
  }));
}
