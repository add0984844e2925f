import { mkdtempSync, readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { StudyFileError, sqliteStudyStore } from '@strandwise/store';
import Database from 'better-sqlite3';
import { beforeEach, describe, expect, it } from 'vitest';
import { adoptedPlan, entry, openedStudy } from '../core/study/example-study.ts';

let path: string;

beforeEach(() => {
  path = join(mkdtempSync(join(tmpdir(), 'strandwise-')), 'study.strandwise');
});

function madeStudy(): void {
  const store = sqliteStudyStore(path, { mode: 'create' });
  store.append([entry(openedStudy), entry(adoptedPlan(4), 1)], 0);
  store.close();
}

function problemOf(work: () => unknown): { code: string; says: string } {
  try {
    work();
  } catch (error) {
    if (error instanceof StudyFileError) return { code: error.code, says: error.message };
    throw error;
  }
  throw new Error('nothing was refused');
}

describe('sqliteStudyStore', () => {
  it('reads back what was written, after closing', () => {
    madeStudy();
    const store = sqliteStudyStore(path, { mode: 'open' });
    expect(store.events().map(({ what }) => what.kind)).toEqual(['study opened', 'plan adopted']);
    store.close();
  });

  it('refuses to create over an existing file', () => {
    madeStudy();
    expect(problemOf(() => sqliteStudyStore(path, { mode: 'create' })).code).toBe('exists');
  });

  it('refuses a missing file, an empty one, text, and another database', () => {
    expect(problemOf(() => sqliteStudyStore(path, { mode: 'open' })).code).toBe('missing');
    writeFileSync(path, '');
    expect(problemOf(() => sqliteStudyStore(path, { mode: 'open' })).code).toBe('damaged');
    writeFileSync(path, 'diameter_mm\n1.75\n'.repeat(100));
    expect(problemOf(() => sqliteStudyStore(path, { mode: 'open' })).code).toBe('not_a_study');
    writeFileSync(path, '');
    const other = new Database(path);
    other.exec('CREATE TABLE t (a)');
    other.close();
    expect(problemOf(() => sqliteStudyStore(path, { mode: 'open' })).code).toBe('not_a_study');
  });

  it('refuses a truncated file and leaves it as it is', () => {
    madeStudy();
    const size = readFileSync(path).byteLength;
    truncateSync(path, Math.floor(size / 2));
    const before = readFileSync(path);
    const problem = problemOf(() => sqliteStudyStore(path, { mode: 'open' }).events());
    expect(['damaged', 'not_a_study']).toContain(problem.code);
    expect(readFileSync(path).equals(before)).toBe(true);
  });

  it('refuses a file of a newer version politely and does not touch it', () => {
    madeStudy();
    const db = new Database(path);
    db.pragma('user_version = 99');
    db.close();
    const problem = problemOf(() => sqliteStudyStore(path, { mode: 'open' }));
    expect(problem.code).toBe('newer');
    expect(problem.says).toContain('Update Strandwise');
  });

  it('says that another program is writing', () => {
    madeStudy();
    const other = new Database(path);
    other.exec('BEGIN IMMEDIATE');
    const store = sqliteStudyStore(path, { mode: 'open', patienceMs: 20 });
    const problem = problemOf(() =>
      store.append([entry({ kind: 'note written', cell: null, text: 'hello' }, 2)], 2),
    );
    expect(problem.code).toBe('locked');
    other.exec('ROLLBACK');
    store.append([entry({ kind: 'note written', cell: null, text: 'hello' }, 2)], 2);
    expect(store.events()).toHaveLength(3);
    other.close();
    store.close();
  });

  it('cannot change or remove an entry even by SQL', () => {
    madeStudy();
    const db = new Database(path);
    expect(() => db.exec("UPDATE event SET body = '{}' WHERE seq = 1")).toThrow('never changed');
    expect(() => db.exec('DELETE FROM event')).toThrow('never removed');
    db.close();
  });

  it('brings a file of the first version on, and reads one without touching it', () => {
    madeStudy();
    const db = new Database(path);
    db.exec('DROP TABLE draft');
    db.pragma('user_version = 1');
    db.close();
    const reader = sqliteStudyStore(path, { mode: 'read' });
    expect(reader.events()).toHaveLength(2);
    expect(reader.drafts.drafts('')).toEqual([]);
    reader.close();
    const store = sqliteStudyStore(path, { mode: 'open' });
    store.drafts.keep('tally', new Uint8Array([3]));
    expect(store.drafts.drafts('')).toHaveLength(1);
    store.close();
  });

  it('notices an entry altered behind its back', () => {
    madeStudy();
    const db = new Database(path);
    db.exec('DROP TRIGGER event_is_never_changed');
    db.exec("UPDATE event SET body = replace(body, 'operator', 'somebody') WHERE seq = 1");
    db.close();
    const store = sqliteStudyStore(path, { mode: 'read' });
    expect(store.verify()).toContain('entry 1: its hash does not fit its text');
    store.close();
  });
});
