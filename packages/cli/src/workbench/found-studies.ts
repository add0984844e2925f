import { readdirSync } from 'node:fs';
import { basename, dirname, join, relative, resolve } from 'node:path';
import { type Clock, type Library, openJournal } from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { studyEnding } from '../command/study-file.ts';
import { type NextAction, nextAction } from './next-action.ts';

/** A study as the workbench lists it. */
export type FoundStudy =
  | {
      readonly kind: 'study';
      readonly path: string;
      readonly shown: string;
      readonly name: string;
      readonly grade: string;
      readonly isInvented: boolean;
      readonly lastAt: string;
      readonly next: NextAction;
    }
  /** A file that cannot be read as a study, with the reason. */
  | {
      readonly kind: 'unreadable';
      readonly path: string;
      readonly shown: string;
      readonly says: string;
    };

/** Most files that are opened at once; a folder may hold years of them. */
const mostStudies = 60;

/**
 * Studies of a folder, the latest touched first, then those opened before from elsewhere that still
 * are there.
 */
export function foundStudies(folder: string, library: Library, clock: Clock): FoundStudy[] {
  const here = readdirSync(folder, { withFileTypes: true })
    .filter((item) => item.isFile() && item.name.endsWith(studyEnding))
    .map(({ name }) => join(folder, name))
    .slice(0, mostStudies);
  const elsewhere = library
    .recentStudies(mostStudies)
    .map(({ path }) => resolve(path))
    .filter((path) => dirname(path) !== resolve(folder));
  const read = (path: string, shown: string): FoundStudy => readStudy(path, shown, clock);
  const local = here.map((path) => read(path, basename(path)));
  const distant = elsewhere.map((path) => read(path, relative(folder, path) || path));
  return [
    ...local.sort((a, b) => lastOf(b).localeCompare(lastOf(a))),
    ...distant.filter(({ kind }) => kind === 'study'),
  ];
}

const lastOf = (study: FoundStudy): string => (study.kind === 'study' ? study.lastAt : '');

function readStudy(path: string, shown: string, clock: Clock): FoundStudy {
  try {
    const store = sqliteStudyStore(path, { mode: 'read' });
    try {
      const state = openJournal(store, clock, 'reader').state();
      const { name, grade, invented } = state.opened;
      return {
        kind: 'study',
        path,
        shown,
        name,
        grade: grade.name,
        isInvented: invented,
        lastAt: state.lastAt,
        next: nextAction(state),
      };
    } finally {
      store.close();
    }
  } catch (error) {
    const says = (error as Error).message.replace(`${path}: `, '');
    return { kind: 'unreadable', path, shown, says };
  }
}
