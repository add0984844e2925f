import type { DraftShelf } from '@strandwise/core';
import type { Database } from 'better-sqlite3';

interface DraftRow {
  readonly key: string;
  readonly body: Buffer;
}

/** The shelf of drafts in a study file. A file of the first version, opened to read, has none. */
export function sqliteDrafts(db: Database, guarded: <T>(work: () => T) => T): DraftShelf {
  const isThere = db
    .prepare("SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = 'draft'")
    .get();
  if (isThere === undefined) return emptyShelf;
  const upsert = db.prepare(
    'INSERT INTO draft (key, body) VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET body = excluded.body',
  );
  const one = db.prepare<[string], DraftRow>('SELECT key, body FROM draft WHERE key = ?');
  // Keys under a prefix: from it up to the prefix with the largest letter behind it.
  const under = db.prepare<[string, string], DraftRow>(
    'SELECT key, body FROM draft WHERE key >= ? AND key < ? ORDER BY key',
  );
  const drop = db.prepare('DELETE FROM draft WHERE key >= ? AND key < ?');
  const last = (prefix: string): string => `${prefix}\u{10FFFF}`;
  const exchange = db.transaction(
    (key: string, next: (now: Uint8Array | undefined) => Uint8Array | null): boolean => {
      const bytes = next(one.get(key)?.body);
      if (bytes === null) return false;
      upsert.run(key, bytes);
      return true;
    },
  );
  return {
    keep: (key, bytes) => guarded(() => void upsert.run(key, bytes)),
    draft: (key) => guarded(() => one.get(key)?.body),
    drafts: (prefix) =>
      guarded(() => under.all(prefix, last(prefix)).map(({ key, body }) => ({ key, bytes: body }))),
    forget: (prefix) => guarded(() => void drop.run(prefix, last(prefix))),
    exchange: (key, next) => guarded(() => exchange.immediate(key, next)),
  };
}

const emptyShelf: DraftShelf = {
  keep() {},
  draft: () => undefined,
  drafts: () => [],
  forget() {},
  exchange: () => false,
};
