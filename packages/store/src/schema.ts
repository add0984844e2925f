import type { Database } from 'better-sqlite3';
import { StudyFileError } from './study-file-error.ts';

/** Marks the file as ours ("STRW"), so that another program's database is refused by name. */
export const applicationId = 0x53545257;

/** One step each; a file at version n has had the first n applied. Never edit one that has shipped. */
const migrations: readonly string[] = [
  `CREATE TABLE event (
     seq INTEGER PRIMARY KEY,
     body TEXT NOT NULL,
     hash TEXT NOT NULL
   ) STRICT;
   CREATE TABLE raw (
     sha256 TEXT PRIMARY KEY,
     name TEXT NOT NULL,
     bytes INTEGER NOT NULL,
     compressed BLOB NOT NULL
   ) STRICT, WITHOUT ROWID;
   CREATE TRIGGER event_is_never_changed BEFORE UPDATE ON event
     BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
   CREATE TRIGGER event_is_never_removed BEFORE DELETE ON event
     BEGIN SELECT RAISE(ABORT, 'entries are never removed'); END;`,
  `CREATE TABLE draft (
     key TEXT PRIMARY KEY,
     body BLOB NOT NULL
   ) STRICT, WITHOUT ROWID;`,
];

export const schemaVersion = migrations.length;

/**
 * The version of a file.
 * @throws {StudyFileError} `newer` when this program does not know it
 */
export function knownVersion(db: Database, path: string): number {
  const version = Number(db.pragma('user_version', { simple: true }));
  if (version > schemaVersion) {
    throw new StudyFileError(
      'newer',
      path,
      `this study was written by a newer Strandwise (file version ${version}; this one knows ${schemaVersion}). Update Strandwise; the file was not touched.`,
    );
  }
  return version;
}

/** Brings a new or older file to this version inside one transaction; refuses a newer one. */
export function migrate(db: Database, path: string): void {
  const version = knownVersion(db, path);
  if (version === schemaVersion) return;
  db.transaction(() => {
    for (const step of migrations.slice(version)) db.exec(step);
    db.pragma(`application_id = ${applicationId}`);
    db.pragma(`user_version = ${schemaVersion}`);
  }).immediate();
}
