import { tUpperQuantile } from '../../distribution/student-t.ts';
import { type Anova, type AnovaRow, anova } from '../anova.ts';
import { determination } from '../determination.ts';
import { describeLackOfFit, type LackOfFit, lackOfFit } from '../lack-of-fit.ts';
import { type Fitted, leastSquares, type Saturated } from '../least-squares.ts';
import { runDiagnostics } from '../run-diagnostics.ts';
import { informationCriterion } from '../selection.ts';
import { termTests } from '../term-test.ts';
import { contrastReports } from './contrast-report.ts';
import { emptyFit } from './empty-fit.ts';
import type {
  AnovaTable,
  CannotSay,
  FittedTerm,
  LackOfFitReport,
  ResponseFit,
  RunReport,
  SourceTest,
} from './fit-result.ts';
import { columnsAt, settingGroups, termGroups } from './model-columns.ts';
import { covarianceRows, type Prepared } from './prepared.ts';
import { REPORT_LEVEL } from './report-level.ts';
import type { Reported } from './reported.ts';
import { screeningReport } from './screening-report.ts';
import { lenthReport, powerRemarks, powerReport } from './second-look.ts';
import { stationaryReport } from './stationary-report.ts';

/** A response by least squares: estimates, tests, shares, lack of fit and diagnostics. */
export function reportLeastSquares(given: Prepared): Reported {
  const { prepared, fit } = fullRankFit(given);
  const { response, cells, y, runs, model } = prepared;
  const base = emptyFit(response, cells, prepared.cannotSay);
  const isConstant = isConstantResponse(y);
  const isJudged = fit.kind === 'fitted' && !fit.isPerfect && !isConstant;
  const groups = termGroups(model.columns);
  const table = anova(fit, groups);
  const fitTest = lackOfFit(fit, y, settingGroups(runs));
  const stationary = isConstant
    ? { report: null, cannotSay: [] }
    : stationaryReport(
        prepared,
        fit.coefficients,
        isJudged ? fit.unscaledCovariance.data.map((value) => value * fit.residualSd ** 2) : null,
      );
  const power = isJudged ? powerReport(prepared) : null;
  const shares = isConstant ? null : determination(fit);
  const size = y.reduce((sum, value) => sum + value * value, 0);
  const score = (criterion: 'aicc' | 'bic'): number | null => {
    const value = informationCriterion(criterion, fit.rss, size, y.length, fit.coefficients.length);
    return isJudged && Number.isFinite(value) ? value : null;
  };
  const terms = fittedTerms(prepared, fit, isJudged, isConstant);
  const covariance = isJudged ? covarianceRows(fit.unscaledCovariance, fit.residualSd ** 2) : null;
  const asked = contrastReports(prepared, { terms, covariance, df: () => fit.dfResidual });
  const screened = screeningReport(prepared);
  const told: ResponseFit = {
    ...base,
    method: prepared.weights ? 'weighted least squares' : 'least squares',
    terms,
    covariance,
    anova: isConstant ? null : anovaTable(table),
    sourceTests: table.partial.flatMap((row) => sourceTest(row, fit.dfResidual)),
    dfResidual: fit.dfResidual,
    residualSd: fit.kind === 'fitted' ? fit.residualSd : null,
    ...(shares ?? {}),
    aicc: score('aicc'),
    bic: score('bic'),
    lackOfFit: lackOfFitReport(fitTest),
    lenth: fit.kind === 'saturated' ? lenthReport(prepared, fit) : null,
    power,
    varianceComponents: isJudged ? [residualComponent(fit)] : [],
    contrasts: asked.contrasts,
    screening: screened.report,
    stationaryPoint: stationary.report,
    runs: runReports(prepared, fit),
    remarks: powerRemarks(response.name, power),
    cannotSay: [
      ...prepared.cannotSay,
      ...cautions(prepared, fit, fitTest, isConstant),
      ...stationary.cannotSay,
      ...asked.cannotSay,
      ...(isConstant ? [] : screened.cannotSay),
    ],
  };
  return { fit: told, plots: [] };
}

/** Extreme weights can alias columns that were independent without them: then more give way. */
function fullRankFit(prepared: Prepared): { prepared: Prepared; fit: Fitted | Saturated } {
  const { model, y, weights, rankTolerance } = prepared;
  const fit = leastSquares({ x: model.x, y, rankTolerance, ...(weights ? { weights } : {}) });
  if (fit.kind !== 'aliased') return { prepared, fit };
  const gone = new Set(fit.leaveOut);
  const terms = fit.leaveOut.map((j) => model.columns[j]!.name);
  const keep = model.columns.map((_, j) => j).filter((j) => !gone.has(j));
  const says = `The weights leave too little on some runs to estimate ${terms.join(', ')}.`;
  return fullRankFit({
    ...prepared,
    model: columnsAt(model, keep),
    cannotSay: [...prepared.cannotSay, { kind: 'aliased', says, terms }],
  });
}

/** Several runs with no more spread than a few units in the last place of their values. */
function isConstantResponse(y: Float64Array): boolean {
  if (y.length < 2) return false;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const value of y) {
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  return high - low <= 4 * Number.EPSILON * Math.max(Math.abs(low), Math.abs(high));
}

function fittedTerms(
  { model }: Prepared,
  fit: Fitted | Saturated,
  isJudged: boolean,
  isConstant: boolean,
): FittedTerm[] {
  const t = isJudged ? tUpperQuantile((1 - REPORT_LEVEL) / 2, fit.dfResidual) : 0;
  return termTests(fit).map((test, j) => {
    const { name, powers } = model.columns[j]!;
    const nothing = {
      standardError: null,
      df: null,
      statistic: null,
      p: null,
      low: null,
      high: null,
    };
    if (!isJudged) {
      // What is left of a perfect fit is rounding, and so are its errors: shown, never tested by.
      const { estimate, standardError, df } = test;
      return { name, powers, ...nothing, estimate, ...(isConstant ? {} : { standardError, df }) };
    }
    const half = t * test.standardError!;
    return { name, powers, ...test, low: test.estimate - half, high: test.estimate + half };
  });
}

function anovaTable(table: Anova): AnovaTable {
  return { ...table, sequential: [...table.sequential], partial: [...table.partial] };
}

function sourceTest(row: AnovaRow, dfError: number): SourceTest[] {
  if (row.f === null || row.p === null) return [];
  const { source, df, f: statistic, p } = row;
  return [{ source, test: 'f', df, dfError, statistic, p, likelihoodRatio: null }];
}

function residualComponent(fit: Fitted) {
  const variance = fit.residualSd ** 2;
  return {
    name: 'runs',
    variance,
    standardDeviation: fit.residualSd,
    low: null,
    high: null,
    isAtBoundary: false,
  };
}

function lackOfFitReport(result: LackOfFit): LackOfFitReport {
  const nothing = {
    f: null,
    p: null,
    pValue: null,
    ss: null,
    df: null,
    pureErrorSs: null,
    pureErrorDf: null,
  };
  const says = describeLackOfFit(result);
  if (result.kind !== 'tested') return { kind: result.kind, says, ...nothing };
  const { kind, f, pValue, ss, df, pureErrorSs, pureErrorDf } = result;
  return { kind, says, f, p: pValue, pValue, ss, df, pureErrorSs, pureErrorDf };
}

function runReports({ runs, y }: Prepared, fit: Fitted | Saturated): RunReport[] {
  const diagnostics = fit.kind === 'fitted' ? runDiagnostics(fit) : null;
  return runs.map(({ row }, i) => {
    const shown = diagnostics?.[i];
    return {
      row: row + 1,
      observed: y[i]!,
      fitted: fit.fitted[i]!,
      residual: fit.residuals[i]!,
      leverage: fit.leverages[i]!,
      studentised: shown?.studentised ?? null,
      deletedStudentised: shown?.deletedStudentised ?? null,
      cooksDistance: shown?.cooksDistance ?? null,
    };
  });
}

function cautions(
  { response, y, model, runs }: Prepared,
  fit: Fitted | Saturated,
  fitTest: LackOfFit,
  isConstant: boolean,
): CannotSay[] {
  const out: CannotSay[] = [];
  if (isConstant) {
    out.push({
      kind: 'constant-response',
      says: `${response.name} was ${y[0]} in every run used: no setting can be seen to change it, and nothing says how surely.`,
    });
    return out;
  }
  if (fit.kind === 'saturated') {
    out.push({
      kind: 'saturated',
      says: `${model.columns.length} terms on ${runs.length} runs leave nothing to judge them by: estimates, but no errors and no tests. Add runs or take fewer terms.`,
    });
  } else if (fit.isPerfect) {
    out.push({
      kind: 'perfect-fit',
      says: `The model runs through every value of ${response.name}; what is left is rounding. Measured data do not do this: check that the column is not computed from the settings.`,
    });
  }
  if (fitTest.kind === 'no-replicates' && fit.kind !== 'saturated') {
    out.push({
      kind: 'not-replicated',
      says: 'No setting was run twice, so lack of fit cannot be told from scatter.',
    });
  }
  if (fitTest.kind === 'identical-replicates' && !(fit.kind === 'fitted' && fit.isPerfect)) {
    out.push({
      kind: 'identical-replicates',
      says: 'The repeated runs agree to the last digit: they look copied, and lack of fit cannot be judged by them.',
    });
  }
  const full = [...fit.leverages].flatMap((h, i) => (h > 1 - 1e-9 ? [runs[i]!.row + 1] : []));
  if (full.length > 0 && fit.kind === 'fitted') {
    out.push({
      kind: 'full-leverage',
      says: `Some runs alone carry a term (rows ${full.join(', ')}): the model passes through them, and prediction without them cannot be judged.`,
      rows: full,
    });
  }
  return out;
}
