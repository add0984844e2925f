import type { Response, Spec } from '../../spec/spec.ts';
import type { FitResult, ResponseFit } from './fit-result.ts';
import { codingsOf, naturalTerms } from './natural-terms.ts';
import { notModelled } from './not-modelled.ts';
import type { Prepared } from './prepared.ts';
import { preparedResponse, type RunKnowledge } from './prepared-response.ts';
import { reportCount } from './report-count.ts';
import { reportLeastSquares } from './report-least-squares.ts';
import { reportPassFail } from './report-pass-fail.ts';
import { plotStrata, reportSplitPlot, splitPlotSensitivity } from './report-split-plot.ts';
import { type Reported, reportedChecks } from './reported.ts';
import { type RunTable, runCount } from './run-table.ts';
import { statedModel, withStatedModel } from './through-origin.ts';
import { type ReadRuns, readRuns, type Units } from './usable-run.ts';

/** What the headless fit takes. */
export interface FitTableInput {
  readonly spec: Spec;
  readonly table: RunTable;
  /** Of the factor columns; `natural` when left out. */
  readonly units?: Units;
  readonly known?: RunKnowledge;
}

/**
 * Fits every response of a spec to a table of runs.
 *
 * Each response stands alone: a cell that failed for one still serves another, and what cannot be
 * said of one (aliased terms, no replicates, a constant response, all cells failed) is told in
 * words in its `cannotSay`. Terms are in coded units, the runs' own settings being what is coded.
 *
 * @throws {DomainError} `unknown_column`, `ragged_columns`, `not_a_number` or `unknown_level` when
 *   the table itself is broken
 */
export function fitTable({ spec, table, units = 'natural', known }: FitTableInput): FitResult {
  const count = runCount(table);
  const fitted = statedModel(spec, units, table);
  const read = readRuns(fitted.spec, table, count, fitted.units);
  const context = { units: fitted.units, ...(known ? { known } : {}) };
  return {
    responses: fitted.spec.responses.map((response) => {
      const fit = fitResponse(fitted.spec, response, table, read, context);
      return withStatedModel(fit, fitted, units);
    }),
  };
}

function fitResponse(
  spec: Spec,
  response: Response,
  table: RunTable,
  read: ReadRuns,
  context: { readonly units: Units; readonly known?: RunKnowledge },
): ResponseFit {
  const prepared = preparedResponse(spec, response, table, read, context);
  if ('refused' in prepared) return prepared.refused;
  const way = wayOf(prepared);
  const reported = way(prepared);
  return {
    ...reported.fit,
    cannotSay: [...reported.fit.cannotSay, ...notModelled(prepared)],
    naturalTerms: naturalTerms(reported.fit, codingsOf(prepared)),
    sensitivity: splitPlotSensitivity(prepared),
    checks: reportedChecks(prepared, reported, way),
  };
}

/** How a response is fitted, by its kind and by whether its runs come in plots. */
function wayOf(prepared: Prepared): (prepared: Prepared) => Reported {
  if (prepared.response.kind === 'pass-fail') return reportPassFail;
  const plots = plotStrata(prepared);
  if (prepared.response.kind === 'count') return (given) => reportCount(given, plots);
  return plots.strata.length > 0 ? (given) => reportSplitPlot(given, plots) : reportLeastSquares;
}
