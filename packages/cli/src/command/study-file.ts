import { userInfo } from 'node:os';
import { resolve } from 'node:path';
import { type Journal, openJournal } from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import type { Given, Option, Surroundings } from './command.ts';
import { textOption, UsageError } from './usage-error.ts';

/** The ending of a study file. */
export const studyEnding = '.strandwise';

export const whoOption: Readonly<Record<string, Option>> = {
  who: {
    type: 'string',
    value: 'NAME',
    says: 'who is entering this (default: STRANDWISE_WHO, else the login name)',
  },
};

/** Whose name stands beside what is entered. */
export function signerOf({ options }: Given, { env }: Surroundings): string {
  const asked = textOption(options, 'who') ?? env['STRANDWISE_WHO'];
  if (asked !== undefined && asked.trim() !== '') return asked.trim().slice(0, 60);
  try {
    return userInfo().username || 'someone';
  } catch {
    return 'someone';
  }
}

/** The study named first on the command line. */
export function studyPath(given: Given, { cwd }: Surroundings): string {
  const name = given.rest[0];
  if (name === undefined)
    throw new UsageError('name the study file, for example "px-31.strandwise".');
  return resolve(cwd, name);
}

/** Opens the study for writing. */
export function openStudy(given: Given, around: Surroundings): Journal {
  const store = sqliteStudyStore(studyPath(given, around), { mode: 'open' });
  try {
    return openJournal(store, around.clock, signerOf(given, around));
  } catch (error) {
    store.close();
    throw error;
  }
}

/** Runs work on an open study and closes it whatever happens. */
export async function withStudy<T>(
  given: Given,
  around: Surroundings,
  work: (journal: Journal) => T | Promise<T>,
): Promise<T> {
  const journal = openStudy(given, around);
  try {
    return await work(journal);
  } finally {
    journal.store.close();
  }
}
