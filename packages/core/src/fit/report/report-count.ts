import type { CountCoefficient, CountFit } from '../count-result.ts';
import { fitCounts } from '../counts.ts';
import { fitPoissonMixed } from '../poisson-mixed.ts';
import { emptyFit } from './empty-fit.ts';
import type { FittedTerm, ResponseFit } from './fit-result.ts';
import { termGroups } from './model-columns.ts';
import { covarianceRows, finiteOrNull, type Prepared } from './prepared.ts';
import { type PlotStrata, runReports } from './report-split-plot.ts';
import { stationaryReport } from './stationary-report.ts';

const methods = {
  poisson: 'Poisson',
  'quasi-poisson': 'quasi-Poisson',
  'negative-binomial': 'negative binomial',
} as const;

/** A count: events per exposure as exp of the terms, with an effect of each whole plot if any. */
export function reportCount(prepared: Prepared, plots: PlotStrata): ResponseFit {
  const wholePlots = plots.strata[0];
  if (!wholePlots) return reportPlainCount(prepared);
  const { response, cells, cannotSay, model, y, exposure, runs } = prepared;
  const fit = fitPoissonMixed({
    x: model.x,
    counts: y,
    wholePlots,
    names: model.columns.map((column) => column.name),
    ...(exposure ? { exposure } : {}),
  });
  if (fit.kind === 'all-zero' || fit.kind === 'separated') return reportPlainCount(prepared);
  if (fit.kind !== 'fitted') return withoutErrors(reportPlainCount(prepared), fit);
  const estimates = Float64Array.from(fit.coefficients, (term) => term.estimate);
  const stationary = stationaryReport(prepared, estimates, fit.covariance.data);
  return {
    ...emptyFit(response, cells, [...cannotSay, ...stationary.cannotSay]),
    method: 'Poisson with whole plots',
    terms: terms(prepared, fit.coefficients),
    covariance: covarianceRows(fit.covariance),
    varianceComponents: [
      {
        name: plots.names[0]!,
        variance: fit.wholePlotSd ** 2,
        standardDeviation: fit.wholePlotSd,
        low: null,
        high: null,
        isAtBoundary: fit.wholePlotSd === 0,
      },
    ],
    stationaryPoint: stationary.report,
    runs: runReports(runs, y, fit.fitted, difference(y, fit.fitted)),
    remarks: [...fit.remarks],
  };
}

/** Estimates only: errors that ignored the plots would promise too much. */
function withoutErrors(
  plain: ResponseFit,
  refusal: { readonly kind: string; readonly words: string },
): ResponseFit {
  const kind = refusal.kind === 'aliased' ? 'aliased' : 'too-few-whole-plots';
  const says = `${refusal.words} Estimates are given without errors or tests.`;
  const nothing = {
    standardError: null,
    df: null,
    statistic: null,
    p: null,
    low: null,
    high: null,
  };
  return {
    ...plain,
    terms: plain.terms.map((term) => ({ ...term, ...nothing })),
    covariance: null,
    sourceTests: [],
    cannotSay: [...plain.cannotSay, { kind, says }],
  };
}

function reportPlainCount(prepared: Prepared): ResponseFit {
  const { response, cells, cannotSay, model, y, exposure, runs } = prepared;
  const base = emptyFit(response, cells, cannotSay);
  const groups = termGroups(model.columns).map(({ source, columns }) => ({
    name: source,
    columns,
  }));
  const result = fitCounts({
    x: model.x,
    counts: y,
    family: 'automatic',
    names: model.columns.map((column) => column.name),
    groups,
    ...(exposure ? { exposure } : {}),
  });
  switch (result.kind) {
    case 'all-zero':
      return {
        ...base,
        cannotSay: [...cannotSay, { kind: 'constant-response', says: result.words }],
      };
    case 'aliased':
      return {
        ...base,
        cannotSay: [
          ...cannotSay,
          { kind: 'aliased', says: result.words, terms: [...result.terms] },
        ],
      };
    case 'separated':
      return {
        ...base,
        method: 'penalised likelihood',
        terms: terms(prepared, result.penalised),
        runs: runReports(runs, y, result.fitted, difference(y, result.fitted)),
        cannotSay: [
          ...cannotSay,
          { kind: 'separated', says: result.words, terms: [...result.terms] },
        ],
      };
    case 'fitted':
      return fitted(prepared, base, result);
  }
}

function fitted(prepared: Prepared, base: ResponseFit, fit: CountFit): ResponseFit {
  const { y, runs } = prepared;
  const stationary = stationaryReport(
    prepared,
    Float64Array.from(fit.coefficients, (term) => term.estimate),
    fit.covariance.data,
  );
  return {
    ...base,
    method: methods[fit.family],
    terms: terms(prepared, fit.coefficients),
    covariance: covarianceRows(fit.covariance),
    sourceTests: fit.dropTests.map((test) => ({
      source: test.name,
      test: test.kind,
      df: test.df,
      dfError: test.kind === 'f' ? fit.dfResidual : null,
      statistic: test.statistic,
      p: test.p,
    })),
    dfResidual: fit.dfResidual,
    dispersion: fit.dispersion,
    deviance: fit.deviance,
    stationaryPoint: stationary.report,
    runs: runReports(runs, y, fit.fitted, difference(y, fit.fitted), fit.leverages),
    cannotSay: [...base.cannotSay, ...stationary.cannotSay],
    remarks: [fit.reason, ...fit.remarks],
  };
}

const difference = (y: Float64Array, fitted: Float64Array): Float64Array =>
  y.map((value, i) => value - fitted[i]!);

function terms({ model }: Prepared, coefficients: readonly CountCoefficient[]): FittedTerm[] {
  return coefficients.map((term, j) => ({
    name: model.columns[j]!.name,
    powers: model.columns[j]!.powers,
    estimate: term.estimate,
    standardError: finiteOrNull(term.standardError),
    df: finiteOrNull(term.df),
    statistic: finiteOrNull(term.statistic),
    p: finiteOrNull(term.p),
    low: finiteOrNull(term.low),
    high: finiteOrNull(term.high),
  }));
}
