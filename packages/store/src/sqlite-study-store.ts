import { closeSync, existsSync, openSync, statSync } from 'node:fs';
import { gunzipSync, gzipSync } from 'node:zlib';
import { StudyEvent, type StudyStore } from '@strandwise/core';
import Database from 'better-sqlite3';
import { numberedEvents, rawHashes } from './checked-event.ts';
import { chainedHash, rawReference, sha256 } from './hash.ts';
import { foldProblems } from './memory-study-store.ts';
import { readableCopy } from './readable-copy.ts';
import { applicationId, knownVersion, migrate } from './schema.ts';
import { sqliteDrafts } from './sqlite-drafts.ts';
import { StudyFileError, studyFileError } from './study-file-error.ts';

export interface SqliteOptions {
  /** `create` refuses an existing file; `open` refuses a missing one. */
  readonly mode: 'create' | 'open' | 'read';
  /** How long to wait for another writer, milliseconds. */
  readonly patienceMs?: number;
}

interface EventRow {
  readonly seq: number;
  readonly body: string;
  readonly hash: string;
}

/**
 * A study in one SQLite file. Write-ahead log, full synchronisation: an append has reached the disk
 * when it returns, and a cut of power loses nothing that was confirmed.
 *
 * @throws {StudyFileError} with a code and what to do, for every way a file can be unusable
 */
export function sqliteStudyStore(path: string, options: SqliteOptions): StudyStore {
  const hadLog = existsSync(`${path}-shm`);
  const db = openDatabase(path, options);
  const guarded = <T>(work: () => T): T => {
    try {
      return work();
    } catch (error) {
      if (
        error instanceof Error &&
        'code' in error &&
        String(error.code).match(/^(SQLITE_|E[A-Z])/)
      ) {
        throw studyFileError(error, path);
      }
      throw error;
    }
  };
  try {
    const store = guarded(() => storeOver(db, path, guarded));
    if (options.mode !== 'read' || hadLog) return store;
    return { ...store, close: () => closedTidily(store, path) };
  } catch (error) {
    db.close();
    throw error;
  }
}

/**
 * A reader may not remove the log files that it made; a writer that closes last does. Nobody else
 * is cut off: SQLite removes them only when it is alone.
 */
function closedTidily(store: StudyStore, path: string): void {
  store.close();
  try {
    const db = new Database(path, { timeout: 0 });
    try {
      db.pragma('user_version');
    } finally {
      db.close();
    }
  } catch {
    // Busy, or a disk that cannot be written: the files stay, and do no harm.
  }
}

function openDatabase(path: string, { mode, patienceMs = 2000 }: SqliteOptions): Database.Database {
  const exists = existsSync(path);
  if (mode === 'create' && exists) {
    throw new StudyFileError(
      'exists',
      path,
      'a file of this name is there already. Choose another name; nothing was overwritten.',
    );
  }
  if (mode !== 'create' && !exists) {
    throw new StudyFileError(
      'missing',
      path,
      'there is no such file. Check the name, or make a study with "strandwise new".',
    );
  }
  if (exists && statSync(path).isDirectory()) {
    throw new StudyFileError('not_a_study', path, 'this is a folder, not a study file.');
  }
  if (exists && statSync(path).size === 0) {
    throw new StudyFileError(
      'damaged',
      path,
      'the file is empty. Restore a copy, or make a study with "strandwise new".',
    );
  }
  let db: Database.Database | undefined;
  try {
    db = opened(path, mode, patienceMs);
    const found = Number(db.pragma('application_id', { simple: true }));
    if (exists && found !== applicationId) {
      throw new StudyFileError(
        'not_a_study',
        path,
        'this is a database of another program, not a study file.',
      );
    }
    if (mode !== 'read') {
      db.pragma('journal_mode = WAL');
      db.pragma('synchronous = FULL');
      db.pragma('foreign_keys = ON');
    }
    migrateOrRefuse(db, path, mode);
    return db;
  } catch (error) {
    db?.close();
    throw studyFileError(mode === 'open' && !isWritable(path) ? readOnlyFault(error) : error, path);
  }
}

/** SQLite says only that it cannot open a log where nothing can be written. */
function isWritable(path: string): boolean {
  try {
    closeSync(openSync(path, 'r+'));
    return true;
  } catch (error) {
    return !['EROFS', 'EACCES', 'EPERM'].includes(String((error as { code?: unknown }).code));
  }
}

const readOnlyFault = (cause: unknown): unknown =>
  cause instanceof StudyFileError
    ? cause
    : Object.assign(new Error('read-only', { cause }), { code: 'SQLITE_READONLY' });

/**
 * A reader of a write-ahead log has to make files beside it. Where the folder does not let it, on a
 * read-only disk, a copy is read instead.
 */
function opened(path: string, mode: SqliteOptions['mode'], timeout: number): Database.Database {
  if (mode !== 'read') return new Database(path, { timeout });
  let db: Database.Database | undefined;
  try {
    db = new Database(path, { readonly: true, timeout });
    db.pragma('user_version');
    return db;
  } catch (error) {
    db?.close();
    if (!/^SQLITE_(CANTOPEN|READONLY)/.test(String((error as { code?: unknown }).code)))
      throw error;
    return readableCopy(path);
  }
}

function migrateOrRefuse(db: Database.Database, path: string, mode: SqliteOptions['mode']): void {
  if (mode !== 'read') migrate(db, path);
  // A reader may not migrate, but must still refuse what it cannot know.
  else if (knownVersion(db, path) === 0)
    throw new StudyFileError('damaged', path, 'the file has no study in it.');
}

function storeOver(
  db: Database.Database,
  path: string,
  guarded: <T>(work: () => T) => T,
): StudyStore {
  const selectAfter = db.prepare<[number], EventRow>(
    'SELECT seq, body, hash FROM event WHERE seq > ? ORDER BY seq',
  );
  const selectLast = db.prepare<[], EventRow>(
    'SELECT seq, body, hash FROM event ORDER BY seq DESC LIMIT 1',
  );
  const insertEvent = db.prepare('INSERT INTO event (seq, body, hash) VALUES (?, ?, ?)');
  const insertRaw = db.prepare(
    'INSERT INTO raw (sha256, name, bytes, compressed) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING',
  );
  const selectRaw = db.prepare<[string], { compressed: Buffer }>(
    'SELECT compressed FROM raw WHERE sha256 = ?',
  );

  const appendInside = db.transaction(
    (events: Parameters<StudyStore['append']>[0], expected: number) => {
      const last = selectLast.get();
      const numbered = numberedEvents(events, expected, last?.seq ?? 0);
      let hash = last?.hash ?? '';
      for (const event of numbered) {
        const body = JSON.stringify(event);
        hash = chainedHash(hash, body);
        insertEvent.run(event.seq, body, hash);
      }
      return numbered;
    },
  );

  return {
    place: path,
    events: (after = 0) =>
      guarded(() => selectAfter.all(after).map((row) => parsedEvent(row, path))),
    append: (events, expected) => guarded(() => appendInside.immediate(events, expected)),
    putRaw: (name, bytes) =>
      guarded(() => {
        const reference = rawReference(name, bytes);
        insertRaw.run(reference.sha256, name, reference.bytes, gzipSync(bytes, { level: 6 }));
        return reference;
      }),
    raw: (hash) =>
      guarded(() => {
        const row = selectRaw.get(hash);
        return row && gunzipSync(row.compressed);
      }),
    verify: () => guarded(() => problemsOf(db, path, selectAfter.all(0))),
    drafts: sqliteDrafts(db, guarded),
    close: () => {
      db.close();
    },
  };
}

function parsedEvent(row: EventRow, path: string): StudyEvent {
  const parsed = StudyEvent.safeParse(safeJson(row.body));
  if (parsed.success) return parsed.data;
  throw new StudyFileError(
    'damaged',
    path,
    `entry ${row.seq} cannot be read (${parsed.error.issues[0]?.path.join('.')}: ${parsed.error.issues[0]?.message}). Run "strandwise verify" to see what is sound.`,
  );
}

function safeJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

function problemsOf(db: Database.Database, path: string, rows: readonly EventRow[]): string[] {
  const problems = (db.pragma('integrity_check') as { integrity_check: string }[])
    .map(({ integrity_check: says }) => says)
    .filter((says) => says !== 'ok')
    .map((says) => `database: ${says}`);
  const events: StudyEvent[] = [];
  let previous = '';
  for (const row of rows) {
    try {
      events.push(parsedEvent(row, path));
      if (chainedHash(previous, row.body) !== row.hash)
        problems.push(`entry ${row.seq}: its hash does not fit its text`);
    } catch (error) {
      problems.push((error as Error).message);
    }
    previous = row.hash;
  }
  return [...problems, ...rawProblems(db, events), ...foldProblems(events)];
}

function rawProblems(db: Database.Database, events: readonly StudyEvent[]): string[] {
  const select = db.prepare<[string], { compressed: Buffer }>(
    'SELECT compressed FROM raw WHERE sha256 = ?',
  );
  return rawHashes(events).flatMap(({ seq, sha256: hash }) => {
    const row = select.get(hash);
    if (!row) return [`entry ${seq}: raw bytes ${hash.slice(0, 12)}… are missing`];
    try {
      return sha256(gunzipSync(row.compressed)) === hash
        ? []
        : [`entry ${seq}: its raw bytes have changed`];
    } catch {
      return [`entry ${seq}: its raw bytes cannot be unpacked`];
    }
  });
}
