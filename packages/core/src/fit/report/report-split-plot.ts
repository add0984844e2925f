import { contrastTest } from '../contrast-test.ts';
import { leastSquares } from '../least-squares.ts';
import { fitSplitPlot } from '../split-plot.ts';
import type { SplitPlotFit, SplitPlotRefusal } from '../split-plot-result.ts';
import { emptyFit } from './empty-fit.ts';
import type { CannotSay, CannotSayKind, ResponseFit, SourceTest } from './fit-result.ts';
import { termGroups } from './model-columns.ts';
import { covarianceRows, finiteOrNull, type Prepared } from './prepared.ts';
import { stationaryReport } from './stationary-report.ts';

/** Groupings of the runs that are neither one a run nor one for all the same runs. */
export interface PlotStrata {
  readonly strata: readonly Int32Array[];
  readonly names: readonly string[];
}

/** Whole plots and plots within them as labels; strata in which every run stands alone are dropped. */
export function plotStrata({ plotNames: names, runs }: Prepared): PlotStrata {
  const strata: Int32Array[] = [];
  const kept: string[] = [];
  let coarser = 0;
  for (const [s, name] of names.entries()) {
    const labels = new Map<string, number>();
    const stratum = Int32Array.from(runs, (run) => {
      const key = JSON.stringify(run.plots.slice(0, s + 1));
      if (!labels.has(key)) labels.set(key, labels.size);
      return labels.get(key)!;
    });
    if (labels.size === runs.length || labels.size === coarser) continue;
    coarser = labels.size;
    strata.push(stratum);
    kept.push(name);
  }
  return { strata, names: kept };
}

/** A response whose runs come in plots, by restricted maximum likelihood. */
export function reportSplitPlot(prepared: Prepared, { strata, names }: PlotStrata): ResponseFit {
  const { model, y, weights } = prepared;
  const result = fitSplitPlot({
    x: model.x,
    y,
    strata,
    names: model.columns.map((column) => column.name),
    strataNames: names,
    ...(weights ? { weights } : {}),
  });
  return result.kind === 'fitted'
    ? fittedReport(prepared, result)
    : refusedReport(prepared, result);
}

function fittedReport(prepared: Prepared, fit: SplitPlotFit): ResponseFit {
  const { response, cells, model, runs, y } = prepared;
  const estimates = Float64Array.from(fit.coefficients, (term) => term.estimate);
  const stationary = stationaryReport(prepared, estimates, fit.adjustedCovariance.data);
  const residual = fit.varianceComponents.at(-1)!;
  return {
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
    covariance: covarianceRows(fit.adjustedCovariance),
    sourceTests: sourceTests(prepared, fit),
    residualSd: residual.standardDeviation,
    varianceComponents: fit.varianceComponents.map((component) => ({
      name: component.name,
      variance: component.variance,
      standardDeviation: component.standardDeviation,
      low: finiteOrNull(component.low),
      high: finiteOrNull(component.high),
      isAtBoundary: component.isAtBoundary,
    })),
    lackOfFit: {
      kind: 'in-plots',
      says: 'not testable here: runs within one plot share its setting, so repeats within it are no replicates',
      f: null,
      pValue: null,
      ss: null,
      df: null,
      pureErrorSs: null,
      pureErrorDf: null,
    },
    strata: fit.strata.map((stratum) => stratum.words),
    stationaryPoint: stationary.report,
    runs: runReports(runs, y, fit.fitted, fit.residuals),
    cannotSay: [...prepared.cannotSay, ...stationary.cannotSay],
    remarks: [...fit.remarks],
  };
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
