import type { Plan, PlanRequest } from '@strandwise/core';
import { bar } from '../terminal/bar.ts';
import { themeOf, themeWish } from '../theme.ts';
import { type SearchStanding, searchedPlan } from '../worker/searched-plan.ts';
import type { Given, Surroundings } from './command.ts';
import { UsageError, wholeOption } from './usage-error.ts';

/**
 * A plan, its search in threads with a line of progress. Escape or ctrl-c ends the search and keeps
 * the best so far.
 */
export async function planSearch(
  request: PlanRequest,
  given: Given,
  around: Surroundings,
): Promise<Plan> {
  const workers = wholeOption(given.options, 'workers');
  if (workers !== undefined && workers < 1)
    throw new UsageError(`--workers must be at least 1; got ${workers}.`);
  const stop = new AbortController();
  const release = stopKeys(stop, around);
  const progress = progressLine(around);
  try {
    return await searchedPlan(request, {
      ...(workers === undefined ? {} : { workers }),
      signal: stop.signal,
      onProgress: progress.show,
    });
  } finally {
    release();
    progress.clear();
  }
}

/** Back to the start of the line, which is then empty. */
const clearedLine = '\r\u001B[2K';

/** Lets Escape and ctrl-c end a search; returns what gives the terminal back. */
function stopKeys(stop: AbortController, around: Surroundings): () => void {
  const halt = (): void => {
    if (process.stderr.isTTY) process.stderr.write(clearedLine);
    around.tell('Stopping; keeping the best so far.');
    stop.abort();
  };
  process.once('SIGINT', halt);
  const { stdin } = process;
  const hasKeys = stdin.isTTY && around.isTerminal;
  const onKey = (bytes: Buffer): void => {
    if (!stop.signal.aborted && (bytes[0] === 27 || bytes[0] === 3)) halt();
  };
  if (hasKeys) {
    stdin.setRawMode(true);
    stdin.resume();
    stdin.on('data', onKey);
  }
  return () => {
    process.removeListener('SIGINT', halt);
    if (!hasKeys) return;
    stdin.off('data', onKey);
    stdin.setRawMode(false);
    stdin.pause();
  };
}

/** A line rewritten in place on a terminal; otherwise a line at every tenth of the way. */
function progressLine(around: Surroundings) {
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  let tenth = 0;
  const { stderr } = process;
  return {
    show: ({ startsDone, starts, best }: SearchStanding): void => {
      const text = `${startsDone} of ${starts} starts, best ${best}`;
      if (stderr.isTTY) {
        stderr.write(
          `\r search ${bar(startsDone / starts, 24, theme)} ${text}   esc keeps the best`,
        );
        return;
      }
      const reached = Math.floor((10 * startsDone) / starts);
      if (reached > tenth && starts >= 40) around.tell(`search: ${text}`);
      tenth = reached;
    },
    clear: (): void => {
      if (stderr.isTTY) stderr.write(clearedLine);
    },
  };
}
