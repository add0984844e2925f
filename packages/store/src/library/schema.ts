import type { Database } from 'better-sqlite3';
import { StudyFileError } from '../study-file-error.ts';

/** Marks the file as a library ("STRL"), so that a study or another program's file is refused by name. */
export const libraryApplicationId = 0x5354524c;

/** One step each; a file at version n has had the first n applied. Never edit one that has shipped. */
const migrations: readonly string[] = [
  `CREATE TABLE entry (
     kind TEXT NOT NULL CHECK (kind IN ('grade', 'line', 'recipe')),
     key TEXT NOT NULL,
     revision INTEGER NOT NULL CHECK (revision >= 1),
     name TEXT NOT NULL,
     at TEXT NOT NULL,
     who TEXT NOT NULL,
     body TEXT NOT NULL,
     PRIMARY KEY (kind, key, revision)
   ) STRICT, WITHOUT ROWID;
   CREATE TABLE study (
     path TEXT PRIMARY KEY,
     name TEXT NOT NULL,
     at TEXT NOT NULL
   ) STRICT, WITHOUT ROWID;
   CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
     BEGIN SELECT RAISE(ABORT, 'revisions are never changed'); END;
   CREATE TRIGGER entry_is_never_removed BEFORE DELETE ON entry
     BEGIN SELECT RAISE(ABORT, 'revisions are never removed'); END;`,
];

export const librarySchemaVersion = migrations.length;

/** Brings a new or older library to this version inside one transaction; refuses a newer one. */
export function migrateLibrary(db: Database, path: string): void {
  const version = Number(db.pragma('user_version', { simple: true }));
  if (version > librarySchemaVersion) {
    throw new StudyFileError(
      'newer',
      path,
      `this library was written by a newer Strandwise (file version ${version}; this one knows ${librarySchemaVersion}). Update Strandwise; the file was not touched.`,
    );
  }
  if (version === librarySchemaVersion) return;
  db.transaction(() => {
    for (const step of migrations.slice(version)) db.exec(step);
    db.pragma(`application_id = ${libraryApplicationId}`);
    db.pragma(`user_version = ${librarySchemaVersion}`);
  }).immediate();
}
