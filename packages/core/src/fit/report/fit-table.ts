import { RELATIVE_RANK_TOLERANCE } from '../../linear/qr.ts';
import type { Response, Spec } from '../../spec/spec.ts';
import { modelTerms } from '../../term/term.ts';
import { emptyFit } from './empty-fit.ts';
import type { FitResult, ResponseFit } from './fit-result.ts';
import { estimable, modelColumns } from './model-columns.ts';
import type { Prepared } from './prepared.ts';
import { reportCount } from './report-count.ts';
import { reportLeastSquares } from './report-least-squares.ts';
import { reportPassFail } from './report-pass-fail.ts';
import { plotStrata, reportSplitPlot } from './report-split-plot.ts';
import { responseCells } from './response-cells.ts';
import { type RunTable, runCount } from './run-table.ts';
import { codingTolerance, readRuns, type Units } from './usable-run.ts';

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
  read: ReturnType<typeof readRuns>,
  units: Units,
): ResponseFit {
  const taken = responseCells(response, table, read);
  if (taken.isRefused) return emptyFit(response, taken.cells, taken.cannotSay);
  const { factors } = spec;
  const rankTolerance = codingTolerance(factors, units, RELATIVE_RANK_TOLERANCE);
  const whole = modelColumns(modelTerms(spec.model, factors), taken.runs, factors, spec.block);
  const { kept, cannotSay } = estimable(whole, taken.runs, factors, rankTolerance);
  const prepared: Prepared = {
    spec,
    response,
    factors,
    runs: taken.runs,
    model: kept,
    y: taken.y,
    weights: taken.weights,
    exposure: taken.exposure,
    rankTolerance,
    cells: taken.cells,
    cannotSay: [...taken.cannotSay, ...constantBlock(spec, taken.runs), ...cannotSay],
  };
  if (response.kind === 'pass-fail') return reportPassFail(prepared);
  const plots = plotStrata(prepared);
  if (response.kind === 'count') return reportCount(prepared, plots);
  return plots.strata.length > 0 ? reportSplitPlot(prepared, plots) : reportLeastSquares(prepared);
}

function constantBlock(spec: Spec, runs: Prepared['runs']): Prepared['cannotSay'] {
  if (spec.block === undefined || runs.some((run) => run.block !== runs[0]!.block)) return [];
  const says = `All runs used stand in one ${spec.block} (${runs[0]!.block}), so blocks cannot be compared.`;
  return [{ kind: 'constant-block', says }];
}
