import type { Factor } from '../factor/factor.ts';
import { fitBayesSplitPlot } from '../fit/bayes-split-plot.ts';
import { type CarriedPrior, priorFor } from '../fit/report/carried-prior.ts';
import type { ResponseFit } from '../fit/report/fit-result.ts';
import { asideColumn } from '../fit/report/model-columns.ts';
import { strataOf } from '../fit/report/plot-strata.ts';
import { columnNamed, numberIn, type RunTable, runCount } from '../fit/report/run-table.ts';
import { readRuns, type Units, type UsableRun } from '../fit/report/usable-run.ts';
import { type Dense, zeros } from '../linear/dense.ts';
import type { Spec } from '../spec/spec.ts';
import type { Powers } from '../term/term.ts';
import { settingsOf } from './polynomial.ts';
import { posteriorBelief, type SurfaceBelief } from './surface-belief.ts';
import { termRow } from './term-row.ts';

/** Where a fit came from. */
export interface FitSource {
  readonly spec: Spec;
  readonly table: RunTable;
  readonly units?: Units;
}

/** The runs behind one response's fit, as its own model sees them. */
export interface FittedRows {
  /** Columns are the terms of the fit, blocks among them; shape (n, p). */
  readonly x: Dense;
  /** Values on the scale of the model; counts for a rate. Shape (n). */
  readonly y: Float64Array;
  readonly weights: Float64Array | undefined;
  readonly exposure: Float64Array | undefined;
  /** Groupings of the runs into plots, outermost first; none when every run stands alone. */
  readonly strata: readonly Int32Array[];
  /** What the plots of each grouping are called. */
  readonly strataNames: readonly string[];
  /** Rows of the table, from 1; shape (n). */
  readonly rows: readonly number[];
  /** Settings of the runs in the order of the factors, coded. */
  readonly settings: readonly Float64Array[];
}

/**
 * The rows of a fitted response, rebuilt from its table.
 *
 * @throws {DomainError} as `fitTable` when the table does not go with the spec
 */
export function fittedRows(fit: ResponseFit, source: FitSource): FittedRows {
  const { spec, table, units = 'natural' } = source;
  const { usable, areBlocksDrawn } = readRuns(spec, table, runCount(table), units);
  const byRow = new Map(usable.map((run) => [run.row + 1, run]));
  const runs = fit.runs.map(({ row }) => byRow.get(row)!);
  const response = spec.responses.find(({ name }) => name === fit.name);
  const side = (name: string | undefined): Float64Array | undefined => {
    if (name === undefined) return undefined;
    const cells = columnNamed(table, name, 'response');
    return Float64Array.from(runs, ({ row }) => numberIn(cells[row], name, row) ?? 1);
  };
  const plotNames = [areBlocksDrawn ? spec.block : undefined, spec.wholePlot, spec.subWholePlot];
  const { strata, names } = strataOf(
    runs,
    plotNames.flatMap((name) => name ?? []),
  );
  return {
    x: columns(fit, runs, spec),
    y: Float64Array.from(fit.runs, ({ observed }) => observed),
    weights: side(response?.weight),
    exposure: side(response?.exposure),
    strata,
    strataNames: names,
    rows: fit.runs.map(({ row }) => row),
    settings: runs.map(({ coded }) => settingsOf(coded, spec.factors)),
  };
}

/** Terms over factors by their products; blocks and covariates as the model has them. */
function columns(fit: ResponseFit, runs: readonly UsableRun[], spec: Spec): Dense {
  const { factors, block, covariates = [] } = spec;
  const isAside = ({ powers }: { powers: Powers }): boolean =>
    Object.keys(powers).some((name) => factors.every((factor) => factor.name !== name));
  const x = zeros(runs.length, fit.terms.length);
  const inner = termRow(
    fit.terms.map((term) => (isAside(term) ? {} : term.powers)),
    factors,
  );
  const row = new Float64Array(fit.terms.length);
  for (const [i, run] of runs.entries()) {
    inner(row, settingsOf(run.coded, factors));
    x.data.set(row, i * x.cols);
  }
  for (const [j, term] of fit.terms.entries()) {
    if (!isAside(term)) continue;
    const values = asideColumn(term.powers, { block, covariates }, runs);
    for (let i = 0; i < x.rows; i++) x.data[i * x.cols + j] = values[i]!;
  }
  return x;
}

/**
 * What is believed of a response whose runs come in plots, by the exact split-plot posterior: it
 * needs no degrees of freedom among plots, so it answers where restricted likelihood must refuse.
 * Null where it does not apply: no plots, counts, pass-fail, or a posterior that refuses too.
 */
export function plotBelief(
  fit: ResponseFit,
  rows: FittedRows,
  factors: readonly Factor[],
  carried?: CarriedPrior,
): SurfaceBelief | null {
  const isNormal = fit.scale === 'response' || fit.scale === 'ln response';
  if (!isNormal || rows.strata.length === 0 || fit.terms.length === 0) return null;
  const { x, y, strata, weights } = rows;
  const prior = priorFor(carried, rows.strataNames);
  const result = fitBayesSplitPlot({
    x,
    y,
    strata,
    ...(weights ? { weights } : {}),
    ...(prior ? { prior } : {}),
  });
  if (result.kind !== 'fitted') return null;
  return posteriorBelief(result.posterior, surfaceTerms(fit, factors));
}

/** Positions of the terms that depend on factors only; blocks are averaged over. */
export function surfaceTerms(fit: ResponseFit, factors: readonly Factor[]): number[] {
  const names = new Set(factors.map(({ name }) => name));
  return fit.terms.flatMap((term, j) =>
    Object.keys(term.powers).every((name) => names.has(name)) ? [j] : [],
  );
}
