import { chmodSync, copyFileSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';

/** The study as it is now, from a copy of the file and its log in a temporary folder, to read only. */
export function readableCopy(path: string): Database.Database {
  const folder = mkdtempSync(join(tmpdir(), 'strandwise-read-'));
  const copy = join(folder, 'copy');
  try {
    copyFileSync(path, copy);
    chmodSync(copy, 0o600);
    if (existsSync(`${path}-wal`)) {
      copyFileSync(`${path}-wal`, `${copy}-wal`);
      chmodSync(`${copy}-wal`, 0o600);
    }
    // Opened to write, so that the log can be recovered; then locked against writing.
    const db = new Database(copy);
    db.pragma('query_only = ON');
    process.once('exit', () => rmSync(folder, { recursive: true, force: true }));
    return db;
  } catch (error) {
    rmSync(folder, { recursive: true, force: true });
    throw error;
  }
}
