import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { memoryLibrary, sqliteLibrary, sqliteStudyStore } from '@strandwise/store';
import Database from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import { libraryContract } from './library.contract.ts';

const folder = (): string => mkdtempSync(join(tmpdir(), 'strandwise-'));

libraryContract('memory', () => ({ library: memoryLibrary() }));
libraryContract('SQLite file', () => {
  const path = join(folder(), 'deep', 'library.db');
  const library = sqliteLibrary(path);
  return {
    library,
    reopen: () => {
      library.close();
      return sqliteLibrary(path);
    },
  };
});

describe('sqliteLibrary', () => {
  it('refuses a study, another program’s file, a text and a folder, by code', () => {
    const here = folder();
    sqliteStudyStore(join(here, 'a.strandwise'), { mode: 'create' }).close();
    const other = new Database(join(here, 'other.db'));
    other.exec('CREATE TABLE t (x)');
    other.close();
    writeFileSync(join(here, 'text.db'), 'not a database, only some words in a row');
    const code = (name: string): unknown => {
      try {
        sqliteLibrary(join(here, name)).close();
        return 'opened';
      } catch (error) {
        return (error as { code?: unknown }).code;
      }
    };
    expect(['a.strandwise', 'other.db', 'text.db', '.'].map(code)).toEqual(
      Array(4).fill('not_a_study'),
    );
  });

  it('refuses a library of a newer version without touching it', () => {
    const path = join(folder(), 'library.db');
    sqliteLibrary(path).close();
    const db = new Database(path);
    db.pragma('user_version = 99');
    db.close();
    expect(() => sqliteLibrary(path)).toThrow(expect.objectContaining({ code: 'newer' }));
  });

  it('never changes or removes a revision', () => {
    const path = join(folder(), 'library.db');
    sqliteLibrary(path).close();
    const db = new Database(path);
    db.exec("INSERT INTO entry VALUES ('grade', 'a', 1, 'a', 't', 'w', '{}')");
    expect(() => db.exec("UPDATE entry SET who = 'x'")).toThrow(/never changed/);
    expect(() => db.exec('DELETE FROM entry')).toThrow(/never removed/);
    db.close();
  });
});
