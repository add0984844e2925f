import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openJournal } from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openedStudy, walked, withPlan } from '../page/walked-study.ts';
import { fitCommandLine } from './run-fit.ts';

// An invented grade walked on the virtual line in ten zone settings of three cells.

const folder = mkdtempSync(join(tmpdir(), 'strandwise-fit-study-'));
const path = join(folder, 'px-31.strandwise');
afterAll(() => rmSync(folder, { recursive: true, force: true }));

beforeAll(async () => {
  const journal = withPlan(openedStudy(), {
    family: 'optimal',
    model: 'quadratic',
    options: { wholePlots: 11, runs: 33, starts: 2 },
  });
  await walked(journal);
  const store = sqliteStudyStore(path, { mode: 'create' });
  // The rehearsal keeps its own clock; here every entry comes a minute after the one before.
  store.append(
    journal.store.events().map(({ seq, ...event }) => ({
      ...event,
      at: new Date(Date.UTC(2026, 0, 5, 7, seq)).toISOString(),
    })),
    0,
  );
  store.close();
});

const recordedModels = () => {
  const store = sqliteStudyStore(path, { mode: 'read' });
  try {
    return openJournal(store, { now: () => 0 }, 'reader').state().models;
  } finally {
    store.close();
  }
};

describe('fit STUDY', () => {
  it('answers in text without a terminal: what matters, whether it stands, the recipe, what next', () => {
    const ran = fitCommandLine([path]);
    expect(ran.told).toBe('');
    expect([0, 1]).toContain(ran.code);
    for (const part of [
      /from low to high/,
      /within 2 of the best/,
      /does the fit stand/,
      /the variance between plots/,
      /Judged by/,
      /cell \d+/,
      /RECOMMENDED/,
      /zones [\d· ]+°C/,
      /NEXT/,
    ])
      expect(ran.out).toMatch(part);
  });

  it('changes a model by name, tells what changed and records it', () => {
    const ran = fitCommandLine([
      path,
      '--response',
      'output',
      '--model',
      'main',
      '--add',
      'screw x fan',
      '--json',
    ]);
    expect(ran.told).toMatch(/model of output/);
    expect(ran.told).toMatch(/before\s+now/);
    const model = recordedModels()['output'];
    expect(typeof model === 'object' && model.terms).toContainEqual({ screw: 1, fan: 1 });
    const { responses, recommendation, next } = JSON.parse(ran.out);
    const output = responses.find(({ name }: { name: string }) => name === 'output');
    expect(output.terms.map(({ name }: { name: string }) => name)).toContain('screw × fan');
    expect(recommendation.kind).toBeDefined();
    expect(Array.isArray(next)).toBe(true);
  });

  it('takes hours since drying in as a covariate once it was noted', () => {
    const ran = fitCommandLine([
      path,
      '--response',
      'output',
      '--add',
      'hours since drying',
      '--json',
    ]);
    const output = JSON.parse(ran.out).responses.find(
      ({ name }: { name: string }) => name === 'output',
    );
    expect(output.terms.map(({ name }: { name: string }) => name)).toContain('hours since drying');
  });

  it('refuses an edit without saying of which response', () => {
    const ran = fitCommandLine([path, '--drop', 'fan']);
    expect(ran.code).toBe(2);
    expect(ran.told).toMatch(/name the response with --response; there are SD of diameter/);
  });

  it('carries the variance ratio of an earlier study, and says so', () => {
    const ran = fitCommandLine([path, '--prior', path, '--json']);
    const spread = JSON.parse(ran.out).responses[0];
    expect(spread.sensitivity.prior).toMatch(/carried over.*Carried from PX-31, a small study/);
    expect(spread.sensitivity.judgedBy).toBe('Bayesian');
  });
});
