import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import {
  type AssessedDesign,
  designInformation,
  designOf,
  dfBudget,
  type Factor,
  jointPower,
  modelTerms,
  type NumericFactor,
  type Point,
  type Powers,
  termPrecisions,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';

// Powers by numerical integration in 50-digit arithmetic (datasets/distribution-tables/SOURCE.md).
const table = readFileSync(
  join(import.meta.dirname, '../../datasets/distribution-tables/11i-power.csv'),
  'utf8',
)
  .trim()
  .split('\n')
  .slice(1)
  .map((line) => {
    const [, test, rest] = /^"([^"]*)",(.*)$/.exec(line)!;
    const fields = rest!.replaceAll('"', '').split(',').map(Number);
    return {
      test: test!,
      n: fields[0]!,
      effect: fields[1]!,
      alpha: fields[2]!,
      errorDf: fields.at(-3)!,
      power: fields.at(-1)!,
    };
  });

const TOLERANCE = 1e-8; // relative; design matrix, strata and noncentral tails together

function expectPower(got: number | null, wanted: number, where: string): void {
  expect(got, where).not.toBeNull();
  const difference = Math.abs(got! / wanted - 1);
  expect(difference, `${where}: got ${got}, expected ${wanted}`).toBeLessThan(TOLERANCE);
}

const newRun = (coded: Point) => ({ coded, block: 1, wholePlot: null, subWholePlot: null });

function groups(levels: number, each: number): AssessedDesign {
  const names = Array.from({ length: levels }, (_, i) => `lot ${i + 1}`);
  const factors: Factor[] = [{ name: 'lot', levels: names, changes: 'hard' }];
  const runs = names.flatMap((lot) => Array.from({ length: each }, () => newRun({ lot })));
  return { factors, terms: modelTerms('main', factors), runs };
}

describe('power of designs against tabled powers', () => {
  const rows = (start: string) => table.filter(({ test }) => test.startsWith(start));

  it('covers all rows of the table', () => {
    const counted = ['two-sample', 'one-way', 'two-level'].map((start) => rows(start).length);
    expect(counted).toEqual([56, 11, 12]);
  });

  it('matches the two-sample t test as a factor with two named levels', () => {
    for (const { n, effect, alpha, power } of rows('two-sample')) {
      const information = designInformation(groups(2, n));
      const stated = { coefficient: effect / 2, sigma: 1, alpha };
      const [, lot] = termPrecisions(information, dfBudget(information), stated);
      expect(lot!.df).toBe(2 * n - 2);
      expectPower(lot!.power, power, `n = ${n}, d = ${effect}, alpha = ${alpha}`);
    }
  });

  it('matches one-way analysis of variance as the joint test of a named factor', () => {
    for (const { test, n, effect, alpha, power } of rows('one-way')) {
      const k = Number(/k=(\d+)/.exec(test)![1]);
      const information = designInformation(groups(k, n));
      // Means at ± of two groups, the others at 0: their root mean square over k groups is `effect`.
      const half = effect * Math.sqrt(k / 2);
      const coefficients = Array.from({ length: k - 1 }, (_, i) =>
        i === 0 ? half : i === 1 ? -half : 0,
      );
      if (k === 2) coefficients[0] = effect;
      const got = jointPower(information, dfBudget(information), {
        columns: coefficients.map((_, i) => i + 1),
        coefficients,
        sigma: 1,
        alpha,
      });
      expectPower(got, power, `k = ${k}, n = ${n}, f = ${effect}`);
    }
  });

  it('matches effects of two-level designs with their own error df', () => {
    for (const { n, effect, alpha, errorDf, power } of rows('two-level')) {
      const information = designInformation(twoLevel(n, n - errorDf));
      const stated = { coefficient: effect / 2, sigma: 1, alpha };
      const precisions = termPrecisions(information, dfBudget(information), stated);
      for (const { name, df, power: got } of precisions.slice(1)) {
        expect(df).toBe(errorDf);
        expectPower(got, power, `N = ${n}, df = ${errorDf}, ${name}`);
      }
    }
  });
});

/** N orthogonal runs with `p` columns in the model: a factorial, or for 20 runs a Hadamard design. */
function twoLevel(n: number, p: number): AssessedDesign {
  const k = n === 20 ? p - 1 : Math.log2(n);
  const factors: NumericFactor[] = Array.from({ length: k }, (_, i) => ({
    name: `x${i + 1}`,
    low: 0,
    high: 1,
    changes: 'easy',
  }));
  const family = n === 20 ? 'plackett-burman' : 'full factorial';
  const options = n === 20 ? { runs: 20 } : {};
  const { runs } = designOf({ factors, model: 'main', family, options });
  expect(runs.length).toBe(n);
  const terms: Powers[] = [];
  if (n === 20) terms.push(...modelTerms('main', factors));
  else {
    for (let code = 0; code < n; code++) {
      const involved = factors.filter((_, j) => (code >> j) & 1);
      terms.push(Object.fromEntries(involved.map(({ name }) => [name, 1])));
    }
    terms.sort((a, b) => Object.keys(a).length - Object.keys(b).length);
  }
  return { factors, terms: terms.slice(0, p), runs };
}
