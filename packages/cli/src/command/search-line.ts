import { bar } from '../terminal/bar.ts';
import { themeOf, themeWish } from '../theme.ts';
import type { SearchStanding } from '../worker/searched-plan.ts';
import type { Surroundings } from './command.ts';

/** Back to the start of the line, which is then empty. */
const clearedLine = '\r\u001B[2K';

/**
 * Work that Escape or ctrl-c ends, keeping the best so far; the terminal is given back afterwards.
 *
 * @param work - looks at the signal and stops early, with what it has
 */
export async function stoppable<T>(
  around: Surroundings,
  work: (signal: AbortSignal) => Promise<T>,
): Promise<T> {
  const stop = new AbortController();
  const release = stopKeys(stop, around);
  try {
    return await work(stop.signal);
  } finally {
    release();
  }
}

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

export interface ProgressLine {
  readonly show: (standing: SearchStanding) => void;
  readonly clear: () => void;
}

/**
 * A line rewritten in place on a terminal; otherwise a line at every tenth of a long search.
 *
 * @param about - what is searched, when there are several: "plan 3 of 9"
 */
export function progressLine(around: Surroundings, about = ''): ProgressLine {
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  let tenth = 0;
  const { stderr } = process;
  const head = about === '' ? 'search' : about;
  return {
    show: ({ startsDone, starts, best }) => {
      if (stderr.isTTY) {
        const width = around.columns < 100 ? 8 : 24;
        const share = bar(startsDone / starts, width, theme);
        const drawn = ` ${head} ${share} ${startsDone} of ${starts}, best ${best}   esc keeps it`;
        stderr.write(`${clearedLine}${[...drawn].slice(0, around.columns - 1).join('')}`);
        return;
      }
      const reached = Math.floor((10 * startsDone) / starts);
      if (reached > tenth && starts >= 40)
        around.tell(`${head}: ${startsDone} of ${starts} starts, best ${best}`);
      tenth = reached;
    },
    clear: () => {
      if (stderr.isTTY) stderr.write(clearedLine);
    },
  };
}
