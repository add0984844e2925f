import { RELATIVE_RANK_TOLERANCE } from '../../linear/qr.ts';
import type { Response, Spec } from '../../spec/spec.ts';
import { statedTerms } from '../../term/term.ts';
import type { CarriedPrior } from './carried-prior.ts';
import { emptyFit } from './empty-fit.ts';
import type { CannotSay, ResponseFit } from './fit-result.ts';
import { covariateRange, estimable, modelColumns } from './model-columns.ts';
import type { Prepared } from './prepared.ts';
import { responseCells } from './response-cells.ts';
import type { RunTable } from './run-table.ts';
import { codingTolerance, type ReadRuns, type Units } from './usable-run.ts';

/** What is known of the runs besides the table; nothing of it is needed. */
export interface RunKnowledge {
  /** How each row is called in words, in the order of the rows; "row 7" when left out. */
  readonly runNames?: readonly string[];
  /** Smallest value of each spread that the gauge could show, in the response's unit, by response. */
  readonly floors?: Readonly<Record<string, number>>;
  /** Priors on the variances carried from an earlier study, by response. */
  readonly priors?: Readonly<Record<string, CarriedPrior>>;
}

/** One response with its cells picked and its estimable columns built, or why it cannot be fitted. */
export function preparedResponse(
  spec: Spec,
  response: Response,
  table: RunTable,
  read: ReadRuns,
  { units, known = {} }: { readonly units: Units; readonly known?: RunKnowledge },
): Prepared | { readonly refused: ResponseFit } {
  const runName = (row: number): string => known.runNames?.[row - 1] ?? `row ${row}`;
  const taken = responseCells(response, table, read, runName);
  if (taken.isRefused) return { refused: emptyFit(response, taken.cells, taken.cannotSay) };
  const { factors } = spec;
  const rankTolerance = codingTolerance(factors, units, RELATIVE_RANK_TOLERANCE);
  const isNormal = response.kind === 'continuous' || response.kind === 'spread';
  const areDrawn = read.areBlocksDrawn && isNormal;
  // Models of counts and of passing know one stratum, of plots; blocks are shifts there.
  const runs =
    read.areBlocksDrawn && !isNormal
      ? taken.runs.map((run) => ({ ...run, plots: run.plots.slice(1) }))
      : taken.runs;
  const aside = { block: areDrawn ? undefined : spec.block, covariates: spec.covariates ?? [] };
  const whole = modelColumns(statedTerms(spec.model, factors), runs, factors, aside);
  const { kept, cannotSay } = estimable(whole, runs, factors, rankTolerance);
  return {
    spec,
    response,
    factors,
    runs,
    plotNames: [areDrawn ? spec.block : undefined, spec.wholePlot, spec.subWholePlot].flatMap(
      (name) => name ?? [],
    ),
    model: kept,
    y: taken.y,
    weights: taken.weights,
    exposure: taken.exposure,
    units,
    rankTolerance,
    order: read.order,
    isOrderKnown: read.isOrderKnown,
    hours: read.hours,
    runName,
    floor: known.floors?.[response.name] ?? null,
    carried: known.priors?.[response.name],
    cells: taken.cells,
    cannotSay: [
      ...taken.cannotSay,
      ...constantBlock(spec, runs),
      ...constantCovariates(spec, runs),
      ...cannotSay,
    ],
  };
}

/** A covariate that never changed has no column; say so. */
function constantCovariates({ covariates = [] }: Spec, runs: Prepared['runs']): CannotSay[] {
  return covariates.flatMap((name, c) => {
    const { low, high } = covariateRange(runs, c);
    if (high > low) return [];
    const says = `${name} was ${low} in every run used, so nothing can be said of it.`;
    return [{ kind: 'constant-factor' as const, says, terms: [name] }];
  });
}

function constantBlock(spec: Spec, runs: Prepared['runs']): CannotSay[] {
  if (spec.block === undefined || runs.some((run) => run.block !== runs[0]!.block)) return [];
  const says = `All runs used stand in one ${spec.block} (${runs[0]!.block}), so blocks cannot be compared.`;
  return [{ kind: 'constant-block', says }];
}
