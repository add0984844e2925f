import { homedir } from 'node:os';
import { join } from 'node:path';
import type { Library } from '@strandwise/core';
import { memoryLibrary, sqliteLibrary } from '@strandwise/store';

type Env = Readonly<Record<string, string | undefined>>;

/** Where the library lies: STRANDWISE_LIBRARY, else the user's data folder; null when set to nothing. */
export function libraryPath(env: Env): string | null {
  const asked = env['STRANDWISE_LIBRARY'];
  if (asked !== undefined) return asked.trim() === '' ? null : asked;
  const data = env['XDG_DATA_HOME'] || join(homedir(), '.local', 'share');
  return join(data, 'strandwise', 'library.db');
}

/** The lab's library; one that forgets when the user wants none. */
export function labLibrary(env: Env): Library {
  const path = libraryPath(env);
  return path === null ? memoryLibrary() : sqliteLibrary(path);
}

/** Runs work on the library and closes it whatever happens. */
export function withLibrary<T>(env: Env, work: (library: Library) => T): T {
  const library = labLibrary(env);
  try {
    return work(library);
  } finally {
    library.close();
  }
}
