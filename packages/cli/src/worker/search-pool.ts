import { Worker } from 'node:worker_threads';
import { bestOf, type OptimalProblem, type StartResult } from '@strandwise/core';
import type { SearchWork, StartDone, StartWanted } from './search-message.ts';

export interface PooledSearch {
  readonly problem: OptimalProblem;
  readonly starts: number;
  readonly workers: number;
  /** The bundled worker. */
  readonly workerUrl: URL;
  readonly onProgress?: (startsDone: number, best: StartResult) => void;
  /** Ends the search; the best start until then is kept. The first start is always waited for. */
  readonly signal?: AbortSignal;
}

export interface PooledOutcome {
  readonly best: StartResult;
  readonly startsDone: number;
  readonly isCancelled: boolean;
}

/**
 * Starts of an optimal search shared out among worker threads. Each start depends on its index alone
 * and ties go to the lower index, so the outcome is the same whatever the number of workers.
 */
export async function pooledSearch(search: PooledSearch): Promise<PooledOutcome> {
  const { problem, starts, signal } = search;
  const count = Math.max(1, Math.min(search.workers, starts));
  const workers = Array.from(
    { length: count },
    () => new Worker(search.workerUrl, { workerData: { problem } satisfies SearchWork }),
  );
  let best: StartResult | undefined;
  let next = 0;
  let done = 0;
  const stopped = stopping(signal, () => best !== undefined);
  const isStopped = (): boolean => signal?.aborted === true && best !== undefined;
  const work = async (worker: Worker): Promise<void> => {
    while (next < starts && !isStopped()) {
      const result = await startIn(worker, next++, stopped);
      if (result === null) return;
      best = best ? bestOf([best, result])! : result;
      done++;
      search.onProgress?.(done, best);
    }
  };
  try {
    await Promise.all(workers.map(work));
  } finally {
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
  return { best: best!, startsDone: done, isCancelled: done < starts };
}

/** Resolves once the signal is given and there is something to keep; never without a signal. */
function stopping(signal: AbortSignal | undefined, hasBest: () => boolean): Promise<null> {
  return new Promise((resolve) => {
    if (!signal) return;
    const check = (): void => {
      if (hasBest()) resolve(null);
    };
    if (signal.aborted) check();
    else signal.addEventListener('abort', check, { once: true });
  });
}

/** One start in a worker; null when the search was stopped while it ran. */
function startIn(
  worker: Worker,
  startIndex: number,
  stopped: Promise<null>,
): Promise<StartResult | null> {
  const answered = new Promise<StartResult>((resolve, reject) => {
    const settle = (answer: StartDone): void => {
      worker.off('error', reject);
      if (answer.kind === 'done') resolve(answer.result);
      else reject(new Error(answer.message));
    };
    worker.once('message', settle);
    worker.once('error', reject);
  });
  worker.postMessage({ startIndex } satisfies StartWanted);
  return Promise.race([answered, stopped]);
}
