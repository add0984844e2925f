import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sqliteStudyStore } from '@strandwise/store';
import Database from 'better-sqlite3';
import { beforeAll, describe, expect, it } from 'vitest';
import { claimWalk, walkerNow } from '../../../packages/cli/src/screen/walk/claim.ts';
import { startedWalk } from '../../cli/walk/walk-study.ts';
import { entry, openedStudy } from '../../core/study/example-study.ts';
import { bundled } from '../bundle.ts';
import { compiledShim, shimEnv } from './shim.ts';

interface Outcome {
  readonly fault: string;
  readonly told: string;
  readonly isKeptOnScreen: boolean;
  readonly lostDuring: number;
  readonly recordedAfter: number;
  readonly last: unknown;
  readonly problems: readonly string[];
}

let library: string;
let outcomes: Map<string, Outcome>;
const newFolder = (): string => mkdtempSync(join(tmpdir(), 'strandwise-fault-'));

beforeAll(async () => {
  library = compiledShim();
  const folder = newFolder();
  const orderFile = join(folder, 'order');
  writeFileSync(orderFile, 'n');
  const program = await bundled(join(import.meta.dirname, 'faulty.ts'));
  const text = execFileSync(process.execPath, [program, folder, orderFile], {
    env: shimEnv({ library, orderFile }),
    encoding: 'utf8',
  });
  const all = text
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as Outcome);
  outcomes = new Map(all.map((outcome) => [outcome.fault, outcome]));
}, 60_000);

/** What the operator is told, fault by fault. */
const says: readonly (readonly [string, RegExp])[] = [
  ['disk full', /the disk is full, so the entry was not written. Free some space/],
  ['write error', /the disk reported a fault/],
  ['synchronisation error', /the disk reported a fault/],
  ['read-only disk', /the disk reported a fault|read-only/],
];

describe('faults of the disk during a walk', () => {
  for (const [fault, words] of says) {
    it(`${fault}: says so, keeps what was typed, and takes it once the fault is gone`, () => {
      const outcome = outcomes.get(fault)!;
      expect(outcome.told).toMatch(words);
      expect(outcome).toMatchObject({
        isKeptOnScreen: true,
        lostDuring: 0,
        recordedAfter: 1,
        last: { kind: 'note written', text: 'typed in trouble' },
        problems: [],
      });
    });
  }
});

function newStudy(): string {
  const path = join(newFolder(), 'px.strandwise');
  const store = sqliteStudyStore(path, { mode: 'create' });
  store.append([entry(openedStudy)], 0);
  store.close();
  return path;
}

describe('other people and programs', () => {
  it('locked by another program: says so and takes the entry afterwards', () => {
    const path = join(newFolder(), 'px.strandwise');
    const store = sqliteStudyStore(path, { mode: 'create', patienceMs: 20 });
    const walk = startedWalk({ store });
    walk.press('n "typed meanwhile"');
    const other = new Database(path);
    other.exec('BEGIN IMMEDIATE');
    walk.press('enter');
    expect(walk.session.screen().notice).toContain('another program is writing to this study');
    other.exec('ROLLBACK');
    other.close();
    walk.press('enter');
    expect(walk.journal.events().at(-1)?.what).toMatchObject({ text: 'typed meanwhile' });
    store.close();
  });

  it('a second walker: is told who walks, and may once the first is gone or silent', () => {
    const store = sqliteStudyStore(newStudy(), { mode: 'open' });
    let now = 1_000_000;
    const clock = { now: () => now };
    const first = claimWalk(store.drafts, { who: 'Robin', now: clock.now });
    const second = claimWalk(store.drafts, { who: 'Sam', now: clock.now });
    expect(first.kind).toBe('mine');
    expect(second).toMatchObject({ kind: 'taken', by: { who: 'Robin' } });
    expect(walkerNow(store.drafts, now)?.who).toBe('Robin');
    now += 25_000;
    expect(claimWalk(store.drafts, { who: 'Sam', now: clock.now }).kind).toBe('mine');
    store.close();
  });

  it('a walker that was killed: the next takes over at once', () => {
    const store = sqliteStudyStore(newStudy(), { mode: 'open' });
    const dead = Number(
      execFileSync(process.execPath, ['-e', 'process.stdout.write(String(process.pid))']),
    );
    const first = claimWalk(store.drafts, { who: 'Robin' });
    const bytes = store.drafts.draft('walker')!;
    const mark = JSON.parse(new TextDecoder().decode(bytes)) as object;
    store.drafts.keep('walker', new TextEncoder().encode(JSON.stringify({ ...mark, pid: dead })));
    expect(first.kind).toBe('mine');
    expect(claimWalk(store.drafts, { who: 'Sam' }).kind).toBe('mine');
    store.close();
  });

  it.runIf(process.platform === 'linux')(
    'a walker that was killed and not yet looked at by its parent: the next takes over at once',
    async () => {
      // The shell's child ends at once; the program that took the shell's place never waits for it.
      const parent = spawn('sh', ['-c', 'sh -c "exit 0" & echo $!; exec sleep 30']);
      try {
        const [said] = (await once(parent.stdout, 'data')) as [Buffer];
        const dead = Number(said.toString().trim());
        const store = sqliteStudyStore(newStudy(), { mode: 'open' });
        claimWalk(store.drafts, { who: 'Robin' });
        const mark = JSON.parse(new TextDecoder().decode(store.drafts.draft('walker')!)) as object;
        const bytes = new TextEncoder().encode(JSON.stringify({ ...mark, pid: dead }));
        await expect
          .poll(() => {
            store.drafts.keep('walker', bytes);
            return claimWalk(store.drafts, { who: 'Sam' }).kind;
          })
          .toBe('mine');
        expect(() => process.kill(dead, 0)).not.toThrow();
        store.close();
      } finally {
        parent.kill('SIGKILL');
      }
    },
  );

  it('a study on a read-only disk: cannot be walked, and is still read and verified whole', () => {
    const outcome = outcomes.get('read-only from the start') as unknown as {
      told: string;
      read: unknown;
    };
    expect(outcome.told).toMatch(/read-only disk or folder.*Copy it to a writable place/);
    expect(outcome.read).toEqual({ entries: 2, problems: [] });
  });
});
