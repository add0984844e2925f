import { basename, resolve } from 'node:path';
import type { ExitCode, Surroundings } from '../command/command.ts';
import { labLibrary, withLibrary } from '../library/lab-library.ts';
import { readOn } from '../screen/read-on.tsx';
import { chosenOnWorkbench } from '../screen/workbench/view.tsx';
import { themeOf, themeWish } from '../theme.ts';
import { foundStudies } from './found-studies.ts';

/** Commands that take the whole screen: there is nothing to read after them. */
const screens = new Set(['new', 'scout', 'walk', 'plan', 'virtual-line']);

/**
 * The place to come back to: shows the studies, runs what is chosen, and shows them again.
 *
 * @param run - runs a command line and prints to the terminal
 */
export async function workbench(
  around: Surroundings,
  run: (args: readonly string[]) => Promise<ExitCode>,
): Promise<ExitCode> {
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  for (;;) {
    const outcome = await chosenOnWorkbench(studiesAround(around), theme);
    if (outcome.kind === 'leave') return 0;
    if (outcome.study !== null) noteOpened(outcome.study, around);
    around.tell(`strandwise ${outcome.args.map(shownWord).join(' ')}`);
    const code = await run(outcome.args);
    if (code !== 0 || !screens.has(outcome.args[0]!)) await readOn();
  }
}

const shownWord = (word: string): string => (/\s/.test(word) ? `"${word}"` : word);

function studiesAround(around: Surroundings): ReturnType<typeof foundStudies> {
  return withLibraryOrNone(around, (library) => foundStudies(around.cwd, library, around.clock));
}

/** A home that cannot be written must not keep anyone from their studies. */
function withLibraryOrNone<T>(around: Surroundings, work: Parameters<typeof withLibrary<T>>[1]): T {
  let library: ReturnType<typeof labLibrary>;
  try {
    library = labLibrary(around.env);
  } catch {
    return withLibrary({ STRANDWISE_LIBRARY: '' }, work);
  }
  try {
    return work(library);
  } finally {
    library.close();
  }
}

function noteOpened(path: string, around: Surroundings): void {
  withLibraryOrNone(around, (library) =>
    library.noteStudy({
      path: resolve(path),
      name: basename(path),
      at: new Date(around.clock.now()).toISOString(),
    }),
  );
}
