import { brokenConstraints, type Design, type DesignRun } from '../design.ts';
import { pointKind } from '../point-kind.ts';
import { type CompiledProblem, compiledProblem } from './compiled-problem.ts';
import { emptyState, fillRowInto, informationInto } from './exchange-state.ts';
import { oneStart } from './one-start.ts';
import type { OptimalProblem, StartResult } from './problem.ts';
import { type OptimalRefusal, refusalOf } from './refusal.ts';
import { encodeInto } from './region.ts';
import { factorSpdInto, inverseFromCholeskyInto } from './spd.ts';
import { checkedStructure } from './structure-check.ts';

/** A design found, or the reason why none can be. */
export type OptimalOutcome = OptimalFound | OptimalRefusal;

export interface OptimalFound {
  readonly kind: 'found';
  readonly design: Design;
  readonly best: StartResult;
  readonly startsDone: number;
  readonly isCancelled: boolean;
  /**
   * Standard error of the I criterion from sampling the region, relative to its value; 0 when the
   * region's moments are exact, null for D and A, which need none.
   */
  readonly momentError: number | null;
}

/** Where a search stands after a start. */
export interface SearchProgress {
  readonly startsDone: number;
  readonly starts: number;
  readonly best: StartResult;
}

export interface SearchOptions {
  /** Number of random starts, at least 1. */
  readonly starts: number;
  readonly onProgress?: (progress: SearchProgress) => void;
  /** Asked after each start; true ends the search and keeps the best so far. */
  readonly cancelled?: () => boolean;
}

const SAME_SCORE = 1e9; // scores that agree to nine decimals are one; the lower start wins

/** The best of some starts: largest score, ties to the lower start. Order and grouping do not matter. */
export function bestOf(results: readonly StartResult[]): StartResult | undefined {
  let best: StartResult | undefined;
  for (const result of results) if (!best || isBefore(result, best)) best = result;
  return best;
}

function isBefore(a: StartResult, b: StartResult): boolean {
  const rankA = Math.round(a.score * SAME_SCORE);
  const rankB = Math.round(b.score * SAME_SCORE);
  return rankA !== rankB ? rankA > rankB : a.startIndex < b.startIndex;
}

/**
 * The search start by start, for a caller that shows the best so far or lets people stop: take a
 * step with `next()`, leave whenever the best is good enough.
 */
export function* optimalSearch(
  problem: OptimalProblem,
  starts: number,
): Generator<SearchProgress, void, void> {
  let best: StartResult | undefined;
  for (let index = 0; index < starts; index++) {
    const result = oneStart(problem, index);
    best = best ? bestOf([best, result])! : result;
    yield { startsDone: index + 1, starts, best };
  }
}

/** Why no design can be made for a problem, null when one can. @throws as {@link optimalDesign} */
export function optimalRefusal(problem: OptimalProblem): OptimalRefusal | null {
  checkedStructure(problem);
  return refusalOf(problem, compiledProblem(problem));
}

/**
 * The best design of a number of random starts of the coordinate exchange.
 *
 * The same problem and number of starts give the same design on every machine. Starts may as well
 * be run elsewhere (`oneStart`), joined with `bestOf` and finished with `optimalOutcome`.
 *
 * @throws {DomainError} `bad_structure`, `block_sizes`, `unknown_factor`, `unknown_level`,
 *   `not_numeric`, `bad_levels`, `missing_setting` when the problem contradicts itself
 * @source Meyer & Nachtsheim (1995), Technometrics 37:60–69
 */
export function optimalDesign(problem: OptimalProblem, options: SearchOptions): OptimalOutcome {
  const refusal = optimalRefusal(problem);
  if (refusal) return refusal;
  let last: SearchProgress | undefined;
  let isCancelled = false;
  for (const progress of optimalSearch(problem, Math.max(1, options.starts))) {
    last = progress;
    options.onProgress?.(progress);
    if (options.cancelled?.()) {
      isCancelled = progress.startsDone < progress.starts;
      break;
    }
  }
  return optimalOutcome(problem, { best: last!.best, startsDone: last!.startsDone, isCancelled });
}

/** The design of a start's result, with notes in plain words. */
export function optimalOutcome(
  problem: OptimalProblem,
  search: {
    readonly best: StartResult;
    readonly startsDone: number;
    readonly isCancelled?: boolean;
  },
): OptimalOutcome {
  const compiled = compiledProblem(problem);
  const { best, startsDone, isCancelled = false } = search;
  if (!Number.isFinite(best.score)) {
    return {
      kind: 'singular',
      words: `None of ${startsDone} starts reached a design that can estimate the model. Add runs, allow more levels or drop terms.`,
    };
  }
  const momentError = relativeMomentError(problem, compiled, best);
  return {
    kind: 'found',
    design: {
      family: 'optimal',
      factors: problem.factors,
      runs: runsOf(problem, compiled, best),
      notes: notesOf(problem, { best, startsDone, isCancelled, momentError, compiled }),
    },
    best,
    startsDone,
    isCancelled,
    momentError,
  };
}

function runsOf(
  { factors }: OptimalProblem,
  { layout }: CompiledProblem,
  { points }: StartResult,
): DesignRun[] {
  return points.map((coded, i) => ({
    coded,
    kind: pointKind(coded, factors),
    ...layout.labels[i]!,
  }));
}

function notesOf(
  problem: OptimalProblem,
  found: {
    readonly best: StartResult;
    readonly startsDone: number;
    readonly isCancelled: boolean;
    readonly momentError: number | null;
    readonly compiled: CompiledProblem;
  },
): string[] {
  const { best, startsDone, isCancelled, momentError } = found;
  const value = best.criterion.toPrecision(6);
  const said = {
    D: `ln det of the information matrix ${value}`,
    A: `sum of the coefficients' variances ${value} σ²`,
    I: `average prediction variance ${value} σ²`,
  }[problem.criterion];
  const notes = [
    `${problem.criterion}-optimal by coordinate exchange: best of ${startsDone} random starts (start ${best.startIndex + 1}, seed ${problem.seed}), ${said}. A better design may exist.`,
  ];
  if (isCancelled) notes.push('The search was stopped early; this is the best design until then.');
  if (momentError) {
    notes.push(
      `The average is over a sample of the allowed region; its sampling error is ${(100 * momentError).toPrecision(2)} % of the value.`,
    );
  }
  if (problem.included?.length) {
    const { included, constraints = [] } = problem;
    notes.push(`${included.length} runs were given and kept as they are; they come first.`);
    const outside = included.filter(
      ({ coded }) => brokenConstraints(coded, constraints).length > 0,
    ).length;
    if (outside > 0) notes.push(`${outside} of them lie outside the limits.`);
  }
  if (problem.structure.kind === 'split-plot') notes.push(strataNote(problem.structure));
  return notes;
}

function strataNote(
  structure: Extract<OptimalProblem['structure'], { kind: 'split-plot' }>,
): string {
  const {
    wholePlots,
    subPlots,
    cells,
    varianceRatio,
    subVarianceRatio = 0,
    replicates = 0,
  } = structure;
  const sub =
    subPlots === undefined
      ? ''
      : ` of ${subPlots} sub-whole plots (variance ratio ${subVarianceRatio})`;
  const repeats =
    replicates > 0 ? ` ${replicates} whole plots repeat the hard settings of another one.` : '';
  return `${wholePlots} whole plots${sub}, ${cells} cells in each innermost plot, planned for a whole-plot variance of ${varianceRatio} times the cell variance.${repeats}`;
}

/** Spread of tr(M⁻¹W) over the independent estimates of W, as a standard error relative to its value. */
function relativeMomentError(
  problem: OptimalProblem,
  compiled: CompiledProblem,
  best: StartResult,
): number | null {
  const { moments, columns: p, table } = compiled;
  if (!moments) return null;
  if (moments.batches.length === 0) return 0;
  const state = emptyState(compiled);
  const k = problem.factors.length;
  for (const [i, point] of best.points.entries()) {
    encodeInto(state.points, point, { factors: problem.factors, offset: i * k });
    fillRowInto(state, i);
  }
  const factor = new Float64Array(p * p);
  informationInto(factor, state, 0);
  factorSpdInto(factor, p);
  inverseFromCholeskyInto(state.c, factor, p);
  const traces = moments.batches.map((batch) => {
    let sum = 0;
    for (let i = 0; i < table.p; i++) {
      for (let j = 0; j < table.p; j++) sum += state.c[i * p + j]! * batch[i * table.p + j]!;
    }
    return sum;
  });
  const mean = traces.reduce((a, b) => a + b, 0) / traces.length;
  const squares = traces.reduce((sum, trace) => sum + (trace - mean) ** 2, 0);
  return Math.sqrt(squares / (traces.length - 1) / traces.length) / mean;
}
