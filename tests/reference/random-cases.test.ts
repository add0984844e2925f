import { describe, expect, it } from 'vitest';
import { caseFile } from './dataset.ts';
import { compared, type RandomCase } from './random-case.ts';

// Layouts, models and readings drawn at random, with what base R, lme4, pbkrtest, lmerTest, MASS and
// car make of them; see datasets/random-cases.

const cases = caseFile('random-cases') as RandomCase[];

describe('the headless fit on random cases', () => {
  it('has cases of every kind, a variance at zero among them', () => {
    expect(new Set(cases.map(({ kind }) => kind)).size).toBe(6);
    expect(cases.some(({ expected }) => expected.singular === true)).toBe(true);
  });

  it.each(cases.map((given, i) => [`${given.kind} ${i + 1}`, given] as const))(
    'matches %s',
    (_, given) => {
      expect(compared(given).findings).toEqual([]);
    },
  );
});
