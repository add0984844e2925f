import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import {
  designRequestOf,
  optimalDesign,
  optimalSearchOf,
  type PlanRequest,
  planOf,
} from '@strandwise/core';
import { build } from 'esbuild';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { pooledSearch } from '../../../packages/cli/src/worker/search-pool.ts';
import { searchedPlan, standingWords } from '../../../packages/cli/src/worker/searched-plan.ts';
import { plainFactors, request } from '../../core/plan/example-plans.ts';
import { emptyFolder } from '../strandwise.ts';

let folder: string;
let workerUrl: URL;

beforeAll(async () => {
  folder = emptyFolder();
  const file = join(folder, 'search-worker.mjs');
  await build({
    entryPoints: [join(import.meta.dirname, '../../../packages/cli/src/worker/search-worker.ts')],
    outfile: file,
    bundle: true,
    platform: 'node',
    format: 'esm',
    logLevel: 'error',
  });
  workerUrl = pathToFileURL(file);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const starts = 12;
const wanted: readonly PlanRequest[] = [
  request('optimal', { options: { starts, wholePlots: 7, cells: 3 } }),
  request('optimal', { options: { starts, criterion: 'D', everyRunSetAnew: true }, seed: 9 }),
  {
    factors: plainFactors(4),
    family: 'optimal',
    model: 'interactions',
    options: { starts },
    seed: 3,
  },
];

describe('pooledSearch', () => {
  it('law: one worker, two workers and none give the same plan for a seed', async () => {
    for (const each of wanted) {
      const alone = planOf(each);
      for (const workers of [1, 2]) {
        const plan = await searchedPlan(each, { workers, workerUrl });
        expect(plan.ordered.runs).toEqual(alone.ordered.runs);
        expect(plan.design.notes).toEqual(alone.design.notes);
      }
    }
  });

  it('reports a best that never falls, with its efficiency', async () => {
    const { problem } = optimalSearchOf(designRequestOf(wanted[1]!));
    const scores: number[] = [];
    const search = await pooledSearch({
      problem,
      starts,
      workers: 2,
      workerUrl,
      onProgress: (_, { score }) => scores.push(score),
    });
    expect(scores).toHaveLength(starts);
    for (let i = 1; i < starts; i++)
      expect(scores[i]!).toBeGreaterThanOrEqual(scores[i - 1]! - 1e-9);
    const found = optimalDesign(problem, { starts });
    if (found.kind !== 'found') expect.unreachable(found.kind);
    else expect(search.best.startIndex).toBe(found.best.startIndex);
    expect(standingWords(problem, search.best)).toMatch(/^D efficiency \d+\.\d %$/);
  });

  it('keeps the best so far when stopped', async () => {
    const { problem } = optimalSearchOf(designRequestOf(wanted[0]!));
    const stop = new AbortController();
    const search = await pooledSearch({
      problem,
      starts: 10_000,
      workers: 2,
      workerUrl,
      signal: stop.signal,
      onProgress: (done) => {
        if (done === 5) stop.abort();
      },
    });
    expect(search.isCancelled).toBe(true);
    expect(search.startsDone).toBeGreaterThanOrEqual(5);
    expect(search.startsDone).toBeLessThan(20);
    expect(Number.isFinite(search.best.score)).toBe(true);
  });

  it('waits for the first start when stopped before it', async () => {
    const { problem } = optimalSearchOf(designRequestOf(wanted[0]!));
    const signal = AbortSignal.abort();
    const { startsDone } = await pooledSearch({
      problem,
      starts: 50,
      workers: 2,
      workerUrl,
      signal,
    });
    expect(startsDone).toBeGreaterThanOrEqual(1);
    expect(startsDone).toBeLessThanOrEqual(2);
  });

  it('refuses what cannot be made before any thread is started', async () => {
    const few = request('optimal', { options: { starts, wholePlots: 2, cells: 2 } });
    await expect(searchedPlan(few, { workerUrl: new URL('file:///nowhere.mjs') })).rejects.toThrow(
      /that needs \d+ whole plots, got 2/,
    );
  });
});
