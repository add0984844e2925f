import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { seededUniform, type Uniform } from '@strandwise/core';
import { StudyFileError, sqliteStudyStore } from '@strandwise/store';
import { expect, it } from 'vitest';
import { bundled } from '../bundle.ts';
import { afterPowerCut, type DiaryRecord, readDiary } from './diary.ts';
import { compiledShim, shimEnv } from './shim.ts';

const cuts = Number(process.env['STRANDWISE_CUTS'] ?? 60);
const folder = mkdtempSync(join(tmpdir(), 'strandwise-cut-'));

/** What had been confirmed when the power went. */
function confirmedBy(records: readonly DiaryRecord[], count: number) {
  let [entries, draft] = [0, -1];
  const raw: string[] = [];
  for (const record of records.slice(0, count)) {
    if (record.what !== 'answer') continue;
    for (const [, kind, value] of record.text.matchAll(/(entry|draft|raw) (\S+)/g)) {
      if (kind === 'entry') entries = Number(value);
      else if (kind === 'draft') draft = Number(value);
      else raw.push(value!);
    }
  }
  return { entries, draft, raw };
}

/** What is wrong on the disk after a cut behind the first `count` records, in words. */
function lossesAt(
  records: readonly DiaryRecord[],
  count: number,
  uniform: Uniform,
  confirmed = confirmedBy(records, count),
): string[] {
  const path = join(folder, 'after-cut');
  const files = afterPowerCut(records, count, uniform);
  writeFileSync(path, files.get('y') ?? '');
  if (files.has('l')) writeFileSync(`${path}-wal`, files.get('l')!);
  try {
    const store = sqliteStudyStore(path, { mode: 'open' });
    try {
      const problems = [...store.verify()];
      const entries = store.events().length;
      if (entries < confirmed.entries)
        problems.push(`${confirmed.entries} entries were confirmed, ${entries} are there`);
      const bytes = store.drafts.draft('screen');
      const draft = bytes ? Number(new TextDecoder().decode(bytes).slice(6)) : -1;
      if (draft < confirmed.draft) problems.push(`draft ${confirmed.draft} is gone`);
      const gone = confirmed.raw.filter((sha256) => store.raw(sha256) === undefined);
      return [...problems, ...gone.map((sha256) => `raw bytes ${sha256} are gone`)];
    } finally {
      store.close();
    }
  } catch (error) {
    if (error instanceof StudyFileError) return [error.message];
    throw error;
  } finally {
    for (const end of ['', '-wal', '-shm']) rmSync(path + end, { force: true });
  }
}

async function writtenDiary(): Promise<DiaryRecord[]> {
  const program = await bundled(join(import.meta.dirname, 'scribe.ts'));
  const diary = join(folder, 'diary');
  execFileSync(process.execPath, [program, join(folder, 'study')], {
    env: shimEnv({ library: compiledShim(), diary }),
  });
  rmSync(join(program, '..'), { recursive: true });
  return readDiary(readFileSync(diary));
}

it(`loses nothing that was confirmed at ${cuts} cuts of power`, async () => {
  const records = await writtenDiary();
  const first = records.findIndex(({ what }) => what === 'answer') + 1;
  expect(records.filter(({ what }) => what === 'synced').length).toBeGreaterThan(80);
  const uniform = seededUniform(7);
  const problems: string[] = [];
  let unsynced = 0;
  for (let cut = 0; cut < cuts; cut++) {
    const count = first + Math.floor(uniform() * (records.length - first + 1));
    if (records[count - 1]?.what === 'write') unsynced++;
    problems.push(...lossesAt(records, count, uniform).map((text) => `record ${count}: ${text}`));
  }
  process.stdout.write(
    `${cuts} cuts of power, ${unsynced} amid writes; losses ${problems.length}\n`,
  );
  expect(problems).toEqual([]);
  expect(unsynced).toBeGreaterThan(cuts / 5);

  // The check of the check: on a disk that never synchronised, the same cuts must show losses.
  const lying = records.filter(({ what }) => what !== 'synced');
  const found = Array.from({ length: 10 }, () => {
    const count = Math.floor(lying.length * (0.3 + 0.7 * uniform()));
    return lossesAt(lying, count, uniform).length;
  });
  expect(found.filter((losses) => losses > 0).length).toBeGreaterThan(5);
  rmSync(folder, { recursive: true });
}, 120_000);
