import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  type Happening,
  type HappeningOf,
  Line,
  openJournal,
  type StudyStore,
  seededUniform,
} from '@strandwise/core';
import { memoryStudyStore, sqliteStudyStore } from '@strandwise/store';
import { describe, expect, it } from 'vitest';
import type { Given, Surroundings } from '../../../packages/cli/src/command/command.ts';
import { exportCommand, importCommand } from '../../../packages/cli/src/command/exchange.ts';
import { steadyClock } from '../../../packages/cli/src/reading/steady-clock.ts';
import { trainer } from '../../../packages/cli/src/reading/trainer.ts';
import { walkSession } from '../../../packages/cli/src/screen/walk/session.ts';
import { entry, exampleLine, openedStudy } from '../../core/study/example-study.ts';
import { nextKeys } from './operator.ts';
import { pressAll } from './press.ts';
import { invented, sixCells } from './walk-study.ts';

/** Walks a whole plan on the virtual line, with notes, failures, undos and hand-overs. */
async function walked(store: StudyStore, seed: number, truth: Line): Promise<void> {
  const opened = openJournal(store, { now: Date.now }, 'Robin').state();
  const startMs = Date.parse(opened.lastAt);
  const line = trainer({
    study: { ...opened, opened: { ...opened.opened, line: truth } },
    seed,
    speed: 4000,
    startMs,
  });
  const clock = steadyClock(line.clock, line.ticking, startMs);
  const journal = openJournal(store, clock, 'Robin');
  journal.record({
    kind: 'gauge described',
    place: 'virtual line',
    format: JSON.parse(JSON.stringify(line.format)) as Record<string, never>,
    sample: [],
  });
  const session = walkSession({ journal, clock, gauge: line, trainer: line, attachLog: () => '' });
  const uniform = seededUniform(seed);
  const started = performance.now();
  while (journal.state().queue.length > 0) {
    if (performance.now() - started > 50_000)
      throw new Error(`still at ${JSON.stringify(session.screen())}`);
    session.tick();
    if (session.screen().mode.kind === 'cell' && session.facts().offer) pressAll(session, 'h y');
    const keys = nextKeys(session, uniform);
    if (keys === '') await new Promise((resolve) => setTimeout(resolve, 5));
    else pressAll(session, keys);
  }
  await session.close();
}

const studyOn = (line: Line): Happening => ({
  ...(openedStudy as Extract<Happening, { kind: 'study opened' }>),
  line,
});

describe('a whole walk on the virtual line', () => {
  it('ends with every cell done and a sound study', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'strandwise-whole-'));
    const path = join(folder, 'walk.strandwise');
    const store = sqliteStudyStore(path, { mode: 'create' });
    store.append([entry(openedStudy), entry(sixCells, 1)], 0);
    await walked(store, 5, exampleLine);
    const state = openJournal(store, { now: Date.now }, 'reader').state();
    const done = state.cells.filter(({ status }) => status === 'done');
    expect(done.length).toBeGreaterThanOrEqual(3);
    for (const { status } of state.cells) expect(['done', 'failed']).toContain(status);
    for (const { readings } of done) {
      expect(readings.log?.gauge).toBe('virtual line');
      expect(readings.bubbles?.metres).toBeGreaterThan(0);
      const bytes = store.raw(readings.log!.raw.sha256)!;
      expect(createHash('sha256').update(bytes).digest('hex')).toBe(readings.log!.raw.sha256);
    }
    expect(store.verify()).toEqual([]);
    store.close();
    // Out as JSON, in again, out again: every byte is the same, live logs and all.
    const around = { cwd: folder, tell: () => {}, out: () => {} } as unknown as Surroundings;
    const given = (...rest: string[]): Given => ({ options: {}, rest });
    await exportCommand.run(given('walk.strandwise', 'first.json'), around);
    await importCommand.run(given('first.json', 'copy.strandwise'), around);
    await exportCommand.run(given('copy.strandwise', 'second.json'), around);
    const first = readFileSync(join(folder, 'first.json'));
    expect(readFileSync(join(folder, 'second.json')).equals(first)).toBe(true);
    expect(first.length).toBeGreaterThan(100_000);
    rmSync(folder, { recursive: true });
  }, 90_000);

  it('learns that a line is slower than its description, and holds longer from then on', async () => {
    const believed = Line.parse({
      ...exampleLine,
      thermal: {
        zoneLagSeconds: 30,
        heatingCelsiusPerSecond: 0.6,
        coolingCelsiusPerSecond: 0.3,
        coreShare: 0,
      },
      shortestHold: { zoneChangeMinutes: 1, otherChangeMinutes: 1 },
    });
    const store = memoryStudyStore();
    const runs = Array.from({ length: 8 }, (_, i) =>
      invented(i + 1, i % 2 === 0 ? 190 : 206, 5, 50),
    );
    const plan = { ...(sixCells as HappeningOf<'plan adopted'>).plan, runs };
    store.append([entry(studyOn(believed)), entry({ kind: 'plan adopted', plan }, 1)], 0);
    await walked(store, 6, exampleLine);
    const learned = store.events().find(({ what }) => what.kind === 'holds learned')?.what;
    if (learned?.kind !== 'holds learned') throw new Error('nothing was learned');
    expect(learned.thermal.basis).toBe('learned');
    const { thermal } = exampleLine;
    expect(learned.thermal.zoneLagSeconds / thermal.zoneLagSeconds).toBeGreaterThan(0.8);
    expect(learned.thermal.coolingCelsiusPerSecond).toBeLessThan(0.1);
    expect(learned.says.join(' ')).toContain('too short');
  }, 90_000);
});
