import { RecipeCard, readiness, seededUniform, shutdownAdvice } from '@strandwise/core';
import { demoScenario, randomGrade } from '@strandwise/virtual-line';
import { beforeAll, describe, expect, it } from 'vitest';
import { recipeCardPage } from '../../../packages/cli/src/page/recipe-card-page.ts';
import { themeOf } from '../../../packages/cli/src/theme.ts';
import { cardText } from '../../../packages/cli/src/wording/card-text.ts';
import { sheetOf } from '../../bench/scouting-trial.ts';
import { type Job, jobDescription, wholeJob } from '../../bench/whole-job.ts';

// One grade through the whole job on the virtual line; the table of many is datasets/whole-job.
describe('the whole job without a hand', () => {
  let job: Job;
  beforeAll(async () => {
    const virtual = randomGrade(seededUniform(3, 'grade'));
    job = await wholeJob({
      description: jobDescription('whole job', sheetOf(virtual), 3),
      virtual,
      seed: 3,
      driedPpm: demoScenario.driedPpm,
      family: 'central composite',
      options: { alpha: 'face-centred' },
      setUps: 3,
      confirmBatch: 'new',
    });
  }, 120_000);

  it('ends with a released card that keeps to its schema', () => {
    expect(job.objections).toEqual([]);
    expect(RecipeCard.parse(job.card)).toEqual(job.card);
    const { released } = job.journal.state();
    expect(released).toMatchObject({ version: 1 });
    expect(JSON.parse(JSON.stringify(released!.card))).toEqual(
      JSON.parse(JSON.stringify(job.card)),
    );
  });

  it('gives every set point an allowed band that holds the value, and what it rests on', () => {
    const { settings, evidence, expected, chance } = job.card!;
    expect(settings).toHaveLength(6);
    for (const { value, allowed } of settings) {
      expect(allowed!.low).toBeLessThanOrEqual(Number(value) + 1e-9);
      expect(allowed!.high).toBeGreaterThanOrEqual(Number(value) - 1e-9);
    }
    expect(evidence).toMatchObject({ cells: 33, confirmed: true });
    expect(evidence.scoutSteps).toBeGreaterThan(5);
    expect(expected.map(({ response }) => response)).toContain('SD of diameter');
    expect(chance!.probability).toBeGreaterThan(chance!.notBelow);
  });

  it('says drying, changeover, warm-up and cautions, in text and on the page', () => {
    const text = cardText(job.card!, {
      theme: themeOf({ colour: false, unicode: true }),
      columns: 80,
    });
    for (const words of [
      'RECIPE 1',
      'may drift',
      'Dry ',
      'HDPE',
      'soak',
      'Never stand or look in line',
    ]) {
      if (words === 'soak') expect(text).toContain('stand at its set point');
      else expect(text).toContain(words);
    }
    for (const line of text.split('\n')) expect([...line].length).toBeLessThanOrEqual(110);
    const page = recipeCardPage(job.card!);
    expect(page).toContain('Invented example');
    expect(page).not.toMatch(/<script|https?:\/\/(?!www\.w3\.org)/);
  });

  it('can be made ready and shut down', () => {
    const { grade, line } = job.journal.state().opened;
    expect(readiness({ grade, line, barrel: 'HDPE' }).verdict).toBe('may heat');
    expect(shutdownAdvice(grade.family, line).leaves).toBe('HDPE');
  });
});
