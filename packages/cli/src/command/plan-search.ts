import type { Plan, PlanRequest } from '@strandwise/core';
import { searchedPlan } from '../worker/searched-plan.ts';
import type { Given, Surroundings } from './command.ts';
import { progressLine, stoppable } from './search-line.ts';
import { UsageError, wholeOption } from './usage-error.ts';

export interface SearchOfMany {
  /** Where this search stands among several: "plan 3 of 9". */
  readonly about: string;
  readonly signal: AbortSignal;
}

/**
 * A plan, its search in threads with a line of progress. Escape or ctrl-c ends the search and keeps
 * the best so far.
 */
export const planSearch = (
  request: PlanRequest,
  given: Given,
  around: Surroundings,
): Promise<Plan> =>
  stoppable(around, (signal) => planSearchOf(request, { about: '', signal }, given, around));

/** The same for one of several searches that one key stops. */
export async function planSearchOf(
  request: PlanRequest,
  { about, signal }: SearchOfMany,
  given: Given,
  around: Surroundings,
): Promise<Plan> {
  const workers = workersOf(given);
  const progress = progressLine(around, about);
  try {
    return await searchedPlan(request, {
      ...(workers === undefined ? {} : { workers }),
      signal,
      onProgress: progress.show,
    });
  } finally {
    progress.clear();
  }
}

function workersOf({ options }: Given): number | undefined {
  const workers = wholeOption(options, 'workers');
  if (workers !== undefined && workers < 1)
    throw new UsageError(`--workers must be at least 1; got ${workers}.`);
  return workers;
}
