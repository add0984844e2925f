import { chiSquaredUpper } from '../../distribution/chi-squared.ts';
import { cholesky, forwardSolveInto } from '../../linear/cholesky.ts';
import type { CountCoefficient, CountFit } from '../count-result.ts';
import { fitCounts } from '../counts.ts';
import { fitPoissonMixed } from '../poisson-mixed.ts';
import { contrastReports } from './contrast-report.ts';
import { emptyFit } from './empty-fit.ts';
import type { FittedTerm, ResponseFit, SourceTest } from './fit-result.ts';
import { termGroups } from './model-columns.ts';
import type { PlotStrata } from './plot-strata.ts';
import { covarianceRows, finiteOrNull, type Prepared } from './prepared.ts';
import { runReports } from './report-split-plot.ts';
import type { Reported } from './reported.ts';
import { stationaryReport } from './stationary-report.ts';

const methods = {
  poisson: 'Poisson',
  'quasi-poisson': 'quasi-Poisson',
  'negative-binomial': 'negative binomial',
} as const;

/** A count: events per exposure as exp of the terms, with an effect of each whole plot if any. */
export function reportCount(prepared: Prepared, plots: PlotStrata): Reported {
  return { fit: countFit(prepared, plots), plots: [] };
}

function countFit(prepared: Prepared, plots: PlotStrata): ResponseFit {
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
  const covariance = covarianceRows(fit.covariance);
  const asked = contrastReports(prepared, { terms: fit.coefficients, covariance, df: () => null });
  return {
    ...emptyFit(response, cells, [...cannotSay, ...stationary.cannotSay, ...asked.cannotSay]),
    method: 'Poisson with whole plots',
    terms: terms(prepared, fit.coefficients),
    covariance,
    sourceTests: waldTests(prepared, fit.covariance, estimates),
    contrasts: asked.contrasts,
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
    family: prepared.response.family ?? 'automatic',
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
  const covariance = covarianceRows(fit.covariance);
  const df = finiteOrNull(fit.coefficients[0]!.df);
  const asked = contrastReports(prepared, { terms: fit.coefficients, covariance, df: () => df });
  return {
    ...base,
    method: methods[fit.family],
    terms: terms(prepared, fit.coefficients),
    covariance,
    contrasts: asked.contrasts,
    sourceTests: fit.dropTests.map((test) => ({
      source: test.name,
      test: test.kind,
      df: test.df,
      dfError: test.kind === 'f' ? fit.dfResidual : null,
      statistic: test.statistic,
      p: test.p,
      likelihoodRatio: test.likelihoodRatio,
    })),
    dfResidual: fit.dfResidual,
    dispersion: fit.dispersion,
    deviance: fit.deviance,
    likelihood: {
      logLikelihood: fit.logLikelihood ?? null,
      aic: fit.aic ?? null,
      deviance: fit.deviance,
      nullDeviance: fit.nullDeviance,
      dfNull: fit.dfNull,
      pearson: fit.pearson,
      theta: fit.size?.theta ?? null,
      thetaError: finiteOrNull(fit.size?.standardError ?? Number.NaN),
      terms: [],
      naturalTerms: [],
    },
    stationaryPoint: stationary.report,
    runs: countRuns(runs, y, fit),
    cannotSay: [...base.cannotSay, ...stationary.cannotSay, ...asked.cannotSay],
    remarks: [fit.reason, ...fit.remarks],
  };
}

/** Runs with Pearson residuals over their own spread, √(1 − h) and the dispersion allowed for. */
function countRuns(runs: Prepared['runs'], y: Float64Array, fit: CountFit) {
  const plain = runReports(runs, y, fit.fitted, difference(y, fit.fitted), fit.leverages);
  const p = fit.coefficients.length;
  return plain.map((run, i) => {
    const h = fit.leverages[i]!;
    if (h > 1 - 1e-9) return run;
    const studentised = fit.pearsonResiduals[i]! / Math.sqrt(fit.dispersion * (1 - h));
    return { ...run, studentised, cooksDistance: (studentised * studentised * h) / ((1 - h) * p) };
  });
}

/** Sources tested after all others by their estimates and covariance. */
function waldTests(
  { model }: Prepared,
  { cols: p, data }: CountFit['covariance'],
  estimates: Float64Array,
): SourceTest[] {
  return termGroups(model.columns).flatMap(({ source, columns }) => {
    const m = columns.length;
    const block = Float64Array.from(columns.flatMap((i) => columns.map((j) => data[i * p + j]!)));
    const factor = cholesky(block, m);
    if (factor.kind !== 'factored') return [];
    const z = Float64Array.from(columns, (j) => estimates[j]!);
    forwardSolveInto(z, factor.lower, m);
    const statistic = z.reduce((sum, value) => sum + value * value, 0);
    const judged = { statistic, p: chiSquaredUpper(statistic, m), likelihoodRatio: null };
    return [{ source, test: 'chi-squared', df: m, dfError: null, ...judged }];
  });
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
