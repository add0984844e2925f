import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { reducedModels, StudyDescription, studyFits, studyState } from '@strandwise/core';
import { beforeAll, describe, expect, it } from 'vitest';
import { StudyExport } from '../../packages/cli/src/command/exchange.ts';
import { workedExamples } from '../bench/worked-example.ts';
import { emptyFolder, type Ran, strandwise } from './strandwise.ts';

const datasets = join(import.meta.dirname, '../../datasets');

describe.each(workedExamples.map(({ slug }) => slug))('%s', (slug) => {
  const file = (name: string): string => join(datasets, slug, name);
  const text = (name: string): string => readFileSync(file(name), 'utf8');
  let folder: string;
  const run = (...args: string[]): Ran => strandwise(args, folder);
  beforeAll(() => {
    folder = emptyFolder();
    writeFileSync(join(folder, 'study.json'), gunzipSync(readFileSync(file('study.json.gz'))));
  });

  it('is invented and says so, with every part that it promises', () => {
    expect(text('SOURCE.md')).toMatch(/^# Worked example[\s\S]*Invented/);
    expect(readdirSync(join(datasets, slug)).sort()).toEqual([
      'SOURCE.md',
      'description.yaml',
      'fit.json',
      'plan.json',
      'study.json.gz',
      'truth.json',
    ]);
  });

  it('starts from its description', () => {
    const made = run('new', 'fresh.strandwise', '--from', file('description.yaml'));
    expect(made.code, made.told).toBe(0);
    expect(made.out).toContain('(invented example)   stage: plan');
    expect(run('ready', 'fresh.strandwise', '--barrel', 'HDPE').code).toBe(0);
  });

  it('imports, is found sound, and exports the same again', () => {
    expect(run('import', 'study.json', 'study.strandwise').code).toBe(0);
    expect(run('verify', 'study.strandwise').code).toBe(0);
    expect(run('export', 'study.strandwise', 'again.json').code).toBe(0);
    expect(readFileSync(join(folder, 'again.json'), 'utf8')).toBe(
      readFileSync(join(folder, 'study.json'), 'utf8'),
    );
  });

  it('fits as it did: a regression snapshot of our own estimates', () => {
    const { entries } = StudyExport.parse(
      JSON.parse(readFileSync(join(folder, 'study.json'), 'utf8')),
    );
    const state = studyState(entries);
    const fits = studyFits(state, reducedModels(state));
    const kept = JSON.parse(text('fit.json'));
    for (const [r, { name, terms }] of fits.responses.entries()) {
      expect(name).toBe(kept.responses[r].name);
      expect(terms.map((term) => term.name)).toEqual(
        kept.responses[r].terms.map((term: { name: string }) => term.name),
      );
      for (const [t, { estimate }] of terms.entries()) {
        const wanted = kept.responses[r].terms[t].estimate;
        // Iterated fits stop at 1e-8 of the deviance.
        expect(
          Math.abs(estimate - wanted),
          `${name} ${terms[t]!.name}: got ${estimate}, kept ${wanted}`,
        ).toBeLessThanOrEqual(1e-6 * Math.max(1, Math.abs(wanted)));
      }
    }
  });

  it('knows the truth that its virtual line was made with', () => {
    const { virtualGrade, optimum, atRecipe } = JSON.parse(text('truth.json'));
    expect(virtualGrade.isInvented).toBe(true);
    expect(optimum.state.sdMm).toBeGreaterThan(0);
    if (atRecipe) expect(atRecipe.sdMm).toBeGreaterThanOrEqual(optimum.state.sdMm * 0.99);
    const example = workedExamples.find((one) => one.slug === slug)!;
    expect(virtualGrade).toEqual(JSON.parse(JSON.stringify(example.virtual)));
    expect(StudyDescription.parse(JSON.parse(JSON.stringify(example.description))).invented).toBe(
      true,
    );
  });
});
