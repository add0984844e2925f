import type { Powers } from '../../term/term.ts';
import { feasibleCentres } from './feasible-centre.ts';
import { type Layout, layoutOf } from './layout.ts';
import { type Moments, momentMatrix } from './moments.ts';
import { potentialTermRanges } from './potential-terms.ts';
import type { OptimalCriterion, OptimalProblem } from './problem.ts';
import { isUnlimited, type Region, regionOf } from './region.ts';
import { type TermTable, termTable } from './term-table.ts';

/** A problem worked out once and used by all its starts. */
export interface CompiledProblem {
  readonly criterion: OptimalCriterion;
  readonly seed: number;
  readonly region: Region;
  /** Feasible points to start from; empty when the region is the whole box or has no room. */
  readonly centres: readonly Float64Array[];
  readonly layout: Layout;
  readonly terms: readonly Powers[];
  readonly table: TermTable;
  /** Model terms and block contrasts together. */
  readonly columns: number;
  /** W of tr(M⁻¹W), null for D. */
  readonly weights: Float64Array | null;
  readonly moments: Moments | null;
  /** Prior precision per column; 0 for the terms that must be estimable. */
  readonly prior: Float64Array;
  readonly gridLevels: number;
  readonly resolution: number;
}

const known = new WeakMap<OptimalProblem, CompiledProblem>();

/** The compiled form of a problem; remembered for as long as the problem object lives. */
export function compiledProblem(problem: OptimalProblem): CompiledProblem {
  const before = known.get(problem);
  if (before) return before;
  const compiled = compile(problem);
  known.set(problem, compiled);
  return compiled;
}

function compile(problem: OptimalProblem): CompiledProblem {
  const region = regionOf(problem);
  const centres = isUnlimited(region) ? [] : feasibleCentres(region);
  const layout = layoutOf(problem);
  const terms = [...problem.terms, ...(problem.ifPossible ?? [])];
  const table = termTable(terms, problem.factors);
  const columns = table.p + layout.blocks.cols;
  const { criterion, seed, gridLevels = 5, resolution = 0.01 } = problem;
  // With no room left by the limits there is nothing to average over; the search refuses later.
  const isEmpty = !isUnlimited(region) && centres.length === 0;
  const moments =
    criterion === 'I' && !isEmpty ? momentMatrix(table, region, { centres, seed }) : null;
  return {
    criterion,
    seed,
    region,
    centres,
    layout,
    terms,
    table,
    columns,
    weights: criterionWeights(criterion, moments?.matrix, {
      p: table.p,
      columns,
      primary: problem.terms.length,
    }),
    moments,
    prior: isEmpty
      ? new Float64Array(columns)
      : priorPrecisions(problem, { table, region, centres, columns }),
    gridLevels,
    resolution,
  };
}

/** A: the must-be-estimable terms count one each. I: the moment matrix; blocks count nothing. */
function criterionWeights(
  criterion: OptimalCriterion,
  moments: Float64Array | undefined,
  { p, columns, primary }: { p: number; columns: number; primary: number },
): Float64Array | null {
  if (criterion === 'D') return null;
  const weights = new Float64Array(columns * columns);
  for (let i = 0; i < p; i++) {
    if (moments) weights.set(moments.subarray(i * p, (i + 1) * p), i * columns);
    else if (i < primary) weights[i * columns + i] = 1;
  }
  return weights;
}

/**
 * Prior precision of the if-possible terms: 1/τ² once a term's part that the primary terms do not
 * explain is scaled to a range of 1. A flat prior on the primary terms makes their share of the
 * term irrelevant, so scaling the raw column by its residual range is enough.
 */
function priorPrecisions(
  { terms, priorPrecision = 1 }: OptimalProblem,
  parts: {
    table: TermTable;
    region: Region;
    centres: readonly Float64Array[];
    columns: number;
  },
): Float64Array {
  const prior = new Float64Array(parts.columns);
  if (parts.table.p === terms.length) return prior;
  const ranges = potentialTermRanges(parts.table, terms.length, parts);
  for (const [i, range] of ranges.entries()) prior[terms.length + i] = priorPrecision * range ** 2;
  return prior;
}
