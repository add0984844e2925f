import { RELATIVE_RANK_TOLERANCE } from '../../linear/qr.ts';
import type { Response, Spec } from '../../spec/spec.ts';
import { modelTerms } from '../../term/term.ts';
import { emptyFit } from './empty-fit.ts';
import type { CannotSay, ResponseFit } from './fit-result.ts';
import { estimable, modelColumns } from './model-columns.ts';
import type { Prepared } from './prepared.ts';
import { responseCells } from './response-cells.ts';
import type { RunTable } from './run-table.ts';
import { codingTolerance, type ReadRuns, type Units } from './usable-run.ts';

/** One response with its cells picked and its estimable columns built, or why it cannot be fitted. */
export function preparedResponse(
  spec: Spec,
  response: Response,
  table: RunTable,
  read: ReadRuns,
  units: Units,
): Prepared | { readonly refused: ResponseFit } {
  const taken = responseCells(response, table, read);
  if (taken.isRefused) return { refused: emptyFit(response, taken.cells, taken.cannotSay) };
  const { factors } = spec;
  const rankTolerance = codingTolerance(factors, units, RELATIVE_RANK_TOLERANCE);
  const whole = modelColumns(modelTerms(spec.model, factors), taken.runs, factors, spec.block);
  const { kept, cannotSay } = estimable(whole, taken.runs, factors, rankTolerance);
  return {
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
}

function constantBlock(spec: Spec, runs: Prepared['runs']): CannotSay[] {
  if (spec.block === undefined || runs.some((run) => run.block !== runs[0]!.block)) return [];
  const says = `All runs used stand in one ${spec.block} (${runs[0]!.block}), so blocks cannot be compared.`;
  return [{ kind: 'constant-block', says }];
}
