import { existsSync, mkdirSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import type { Library, LibraryEntry, LibraryKind, RecentStudy } from '@strandwise/core';
import Database from 'better-sqlite3';
import { canonicalJson } from '../hash.ts';
import { StudyFileError, studyFileError } from '../study-file-error.ts';
import { checkedValue, nameKey } from './checked-value.ts';
import { libraryApplicationId, migrateLibrary } from './schema.ts';

interface EntryRow {
  readonly kind: LibraryKind;
  readonly name: string;
  readonly revision: number;
  readonly at: string;
  readonly who: string;
  readonly body: string;
}

/**
 * The library in one SQLite file, made when it is not there. Every revision is on disk when `keep`
 * returns.
 *
 * @throws {StudyFileError} with a code and what to do, for every way a file can be unusable
 */
export function sqliteLibrary(path: string): Library {
  const db = openLibrary(path);
  const guarded = <T>(work: () => T): T => {
    try {
      return work();
    } catch (error) {
      if (isSystemError(error)) throw studyFileError(error, path);
      throw error;
    }
  };
  const selectHistory = db.prepare<[string, string], EntryRow>(
    'SELECT kind, name, revision, at, who, body FROM entry WHERE kind = ? AND key = ? ORDER BY revision',
  );
  const selectLatest = db.prepare<[string], EntryRow>(
    `SELECT kind, name, revision, at, who, body FROM entry AS e WHERE kind = ?
     AND revision = (SELECT max(revision) FROM entry WHERE kind = e.kind AND key = e.key) ORDER BY key`,
  );
  const insert = db.prepare(
    'INSERT INTO entry (kind, key, revision, name, at, who, body) VALUES (?, ?, ?, ?, ?, ?, ?)',
  );
  const upsertStudy = db.prepare(
    'INSERT INTO study (path, name, at) VALUES (?, ?, ?) ON CONFLICT (path) DO UPDATE SET name = excluded.name, at = excluded.at',
  );
  const selectStudies = db.prepare<[number], RecentStudy>(
    'SELECT path, name, at FROM study ORDER BY at DESC, path LIMIT ?',
  );
  const read = <K extends LibraryKind>(row: EntryRow): LibraryEntry<K> => ({
    kind: row.kind as K,
    name: row.name,
    revision: row.revision,
    at: row.at,
    who: row.who,
    value: checkedValue(row.kind as K, row.name, JSON.parse(row.body)),
  });
  const history = <K extends LibraryKind>(kind: K, name: string): LibraryEntry<K>[] =>
    guarded(() => selectHistory.all(kind, nameKey(name)).map((row) => read<K>(row)));
  return {
    place: path,
    keep: (kind, name, value, { at, who }) => {
      const checked = checkedValue(kind, name, value);
      const keepInside = db.transaction(() => {
        const latest = selectHistory.all(kind, nameKey(name)).at(-1);
        if (latest && canonicalJson(JSON.parse(latest.body)) === canonicalJson(checked))
          return read<typeof kind>(latest);
        const revision = (latest?.revision ?? 0) + 1;
        insert.run(kind, nameKey(name), revision, name.trim(), at, who, JSON.stringify(checked));
        return { kind, name: name.trim(), revision, at, who, value: checked };
      });
      return guarded(() => keepInside.immediate());
    },
    entry: (kind, name, revision) => {
      const all = history(kind, name);
      return revision === undefined ? all.at(-1) : all.find((one) => one.revision === revision);
    },
    entries: <K extends LibraryKind>(kind: K) =>
      guarded(() => selectLatest.all(kind).map((row) => read<K>(row))),
    history,
    noteStudy: ({ path: study, name, at }) => void guarded(() => upsertStudy.run(study, name, at)),
    recentStudies: (most) => guarded(() => selectStudies.all(most)),
    close: () => {
      db.close();
    },
  };
}

const isSystemError = (error: unknown): boolean =>
  error instanceof Error && 'code' in error && /^(SQLITE_|E[A-Z])/.test(String(error.code));

function openLibrary(path: string): Database.Database {
  const exists = existsSync(path);
  if (exists && statSync(path).isDirectory())
    throw new StudyFileError('not_a_study', path, 'this is a folder; the library is a file.');
  let db: Database.Database | undefined;
  try {
    if (!exists) mkdirSync(dirname(path), { recursive: true });
    db = new Database(path, { timeout: 2000 });
    const found = Number(db.pragma('application_id', { simple: true }));
    if (exists && statSync(path).size > 0 && found !== libraryApplicationId) {
      throw new StudyFileError(
        'not_a_study',
        path,
        'this file is not a library of Strandwise. Name another with STRANDWISE_LIBRARY.',
      );
    }
    db.pragma('journal_mode = WAL');
    db.pragma('synchronous = FULL');
    migrateLibrary(db, path);
    return db;
  } catch (error) {
    db?.close();
    throw studyFileError(error, path);
  }
}
