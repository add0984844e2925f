import { normalTwoSided, normalUpperQuantile } from '../../distribution/normal.ts';
import { logisticLikelihood } from '../logistic-likelihood.ts';
import { fitPassFail } from '../pass-fail.ts';
import { contrastReports } from './contrast-report.ts';
import { emptyFit } from './empty-fit.ts';
import type { FittedTerm, LikelihoodReport, ResponseFit } from './fit-result.ts';
import { codingsOf, naturalTerms } from './natural-terms.ts';
import { covarianceRows, finiteOrNull, type Prepared } from './prepared.ts';
import { REPORT_LEVEL } from './report-level.ts';
import { runReports } from './report-split-plot.ts';
import type { Reported } from './reported.ts';
import { stationaryReport } from './stationary-report.ts';

/** Passing or failing: log odds of passing, by penalised likelihood, which separation cannot break. */
export function reportPassFail(prepared: Prepared): Reported {
  return { fit: passFailFit(prepared), plots: [] };
}

function passFailFit(prepared: Prepared): ResponseFit {
  const { response, cells, cannotSay, model, y, runs } = prepared;
  const base = emptyFit(response, cells, cannotSay);
  const result = fitPassFail({
    x: model.x,
    passed: Array.from(y, (value) => value === 1),
    names: model.columns.map((column) => column.name),
    ...(prepared.tested === undefined ? {} : { tested: prepared.tested }),
  });
  if (result.kind === 'one-outcome') {
    return {
      ...base,
      cannotSay: [...cannotSay, { kind: 'constant-response', says: result.words }],
    };
  }
  if (result.kind === 'aliased') {
    const terms = [...result.terms];
    return { ...base, cannotSay: [...cannotSay, { kind: 'aliased', says: result.words, terms }] };
  }
  const estimates = Float64Array.from(result.coefficients, (term) => term.estimate);
  const stationary = stationaryReport(prepared, estimates, result.covariance.data);
  const covariance = covarianceRows(result.covariance);
  const terms = result.coefficients;
  const asked = contrastReports(prepared, { terms, covariance, df: () => null });
  return {
    ...base,
    method: 'penalised likelihood',
    // The test is a penalised likelihood ratio; its signed root is shown as the statistic.
    terms: result.coefficients.map((term, j) => ({
      name: model.columns[j]!.name,
      powers: model.columns[j]!.powers,
      estimate: term.estimate,
      standardError: finiteOrNull(term.standardError),
      df: null,
      statistic: Math.sign(term.estimate) * Math.sqrt(term.chiSquared),
      p: term.p,
      low: finiteOrNull(term.low),
      high: finiteOrNull(term.high),
    })),
    covariance,
    dfResidual: runs.length - model.columns.length,
    likelihood: plainLikelihood(prepared),
    contrasts: asked.contrasts,
    stationaryPoint: stationary.report,
    runs: runReports(
      runs,
      y,
      result.fitted,
      y.map((value, i) => value - result.fitted[i]!),
    ),
    cannotSay: [
      ...cannotSay,
      ...(result.isSeparated ? [{ kind: 'separated' as const, says: result.remarks[0]! }] : []),
      ...stationary.cannotSay,
      ...asked.cannotSay,
    ],
    remarks: result.isSeparated ? [] : [...result.remarks],
  };
}

/** The same model by plain maximum likelihood, for comparison with tables; null when separated. */
function plainLikelihood(prepared: Prepared): LikelihoodReport | null {
  const { model, y, runs } = prepared;
  const found = logisticLikelihood(model.x, y);
  if (!found) return null;
  const { coefficients, covariance, logLikelihood, pearson } = found;
  const hasConstant = model.columns.some(({ powers }) => Object.keys(powers).length === 0);
  const share = hasConstant ? y.reduce((sum, value) => sum + value, 0) / y.length : 0.5;
  const one = y.reduce((sum, v) => sum + Math.log(v === 1 ? share : 1 - share), 0);
  const p = coefficients.length;
  const terms = waldTerms(model.columns, coefficients, covariance.data);
  const spread = covarianceRows(covariance);
  const likely = { terms, covariance: spread, method: 'Poisson' as const };
  return {
    logLikelihood,
    aic: 2 * p - 2 * logLikelihood,
    deviance: -2 * logLikelihood,
    nullDeviance: -2 * one,
    dfNull: runs.length - (hasConstant ? 1 : 0),
    pearson,
    theta: null,
    thetaError: null,
    terms,
    naturalTerms: naturalTerms(likely, codingsOf(prepared)),
  };
}

/** Terms judged by their errors as normal. */
function waldTerms(
  columns: Prepared['model']['columns'],
  coefficients: Float64Array,
  covariance: Float64Array,
): FittedTerm[] {
  const reach = normalUpperQuantile((1 - REPORT_LEVEL) / 2);
  return columns.map(({ name, powers }, j) => {
    const estimate = coefficients[j]!;
    const standardError = Math.sqrt(covariance[j * columns.length + j]!);
    const statistic = estimate / standardError;
    const half = reach * standardError;
    const judged = { df: null, statistic, p: normalTwoSided(statistic) };
    const limits = { low: estimate - half, high: estimate + half };
    return { name, powers, estimate, standardError, ...judged, ...limits };
  });
}
