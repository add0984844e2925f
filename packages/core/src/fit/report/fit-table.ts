import type { Response, Spec } from '../../spec/spec.ts';
import type { FitResult, ResponseFit } from './fit-result.ts';
import { preparedResponse } from './prepared-response.ts';
import { reportCount } from './report-count.ts';
import { reportLeastSquares } from './report-least-squares.ts';
import { reportPassFail } from './report-pass-fail.ts';
import { plotStrata, reportSplitPlot } from './report-split-plot.ts';
import { type RunTable, runCount } from './run-table.ts';
import { type ReadRuns, readRuns, type Units } from './usable-run.ts';

/** What the headless fit takes. */
export interface FitTableInput {
  readonly spec: Spec;
  readonly table: RunTable;
  /** Of the factor columns; `natural` when left out. */
  readonly units?: Units;
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
export function fitTable({ spec, table, units = 'natural' }: FitTableInput): FitResult {
  const count = runCount(table);
  const read = readRuns(spec, table, count, units);
  return {
    responses: spec.responses.map((response) => fitResponse(spec, response, table, read, units)),
  };
}

function fitResponse(
  spec: Spec,
  response: Response,
  table: RunTable,
  read: ReadRuns,
  units: Units,
): ResponseFit {
  const prepared = preparedResponse(spec, response, table, read, units);
  if ('refused' in prepared) return prepared.refused;
  if (response.kind === 'pass-fail') return reportPassFail(prepared);
  const plots = plotStrata(prepared);
  if (response.kind === 'count') return reportCount(prepared, plots);
  return plots.strata.length > 0 ? reportSplitPlot(prepared, plots) : reportLeastSquares(prepared);
}
