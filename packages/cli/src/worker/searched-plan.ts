import { availableParallelism } from 'node:os';
import {
  designRequestOf,
  foundDesign,
  type OptimalProblem,
  optimalOutcome,
  optimalRefusal,
  optimalSearchOf,
  type Plan,
  type PlanRequest,
  planOf,
  planWith,
  type StartResult,
} from '@strandwise/core';
import { pooledSearch } from './search-pool.ts';

/** Where a search stands, for a line of progress. */
export interface SearchStanding {
  readonly startsDone: number;
  readonly starts: number;
  /** The best so far, in words: "D efficiency 43.2 %". */
  readonly best: string;
}

export interface SearchedPlanOptions {
  readonly workers?: number;
  readonly onProgress?: (standing: SearchStanding) => void;
  readonly signal?: AbortSignal;
  readonly workerUrl?: URL;
}

/** The bundled worker stands beside the bundled command. */
const bundledWorker = (): URL => new URL('./search-worker.js', import.meta.url);

/** Below this many starts a thread costs more than it saves. */
const FEW_STARTS = 4;

/**
 * A plan whose search, when its family searches, runs in worker threads; any other family is built
 * at once. The same request gives the same plan as `planOf`.
 *
 * @throws {DomainError} as `planOf`
 */
export async function searchedPlan(
  request: PlanRequest,
  options: SearchedPlanOptions = {},
): Promise<Plan> {
  if (request.family.trim().toLowerCase() !== 'optimal') return planOf(request);
  const { problem, starts } = optimalSearchOf(designRequestOf(request));
  if (starts < FEW_STARTS) return planOf(request);
  const refusal = optimalRefusal(problem);
  if (refusal) foundDesign(refusal);
  const search = await pooledSearch({
    problem,
    starts,
    workers: options.workers ?? availableParallelism(),
    workerUrl: options.workerUrl ?? bundledWorker(),
    onProgress: (startsDone, best) =>
      options.onProgress?.({ startsDone, starts, best: standingWords(problem, best) }),
    ...(options.signal ? { signal: options.signal } : {}),
  });
  return planWith(request, foundDesign(optimalOutcome(problem, search)));
}

/** How good a start is, as the efficiency of its criterion. */
export function standingWords({ terms, criterion }: OptimalProblem, best: StartResult): string {
  if (!Number.isFinite(best.score)) return 'no design yet';
  const p = terms.length;
  const n = best.points.length;
  const efficiency =
    criterion === 'D' ? (100 * Math.exp(best.criterion / p)) / n : (100 * p) / (n * best.criterion);
  return `${criterion} efficiency ${efficiency.toFixed(1)} %`;
}
