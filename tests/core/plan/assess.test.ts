import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import {
  assessedPlan,
  type Factor,
  PlanAnswer,
  type PlanRequest,
  planAnswer,
  planOf,
  planProperties,
  type StatedChange,
  statedEffect,
  usualChange,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { plainFactors, request } from './example-plans.ts';

const factorial = (factors: Factor[], more: Partial<PlanRequest> = {}) =>
  planOf({ factors, family: 'full factorial', model: 'main', seed: 1, ...more });
const unit = (effect: number, more: Partial<StatedChange> = {}): StatedChange => ({
  scale: 'unit',
  effect,
  noise: 1,
  plotRatio: 0,
  subPlotRatio: 0,
  alpha: 0.05,
  ...more,
});

// Powers by numerical integration in 50-digit arithmetic (datasets/distribution-tables/SOURCE.md).
const powerTable = readFileSync(
  join(import.meta.dirname, '../../../datasets/distribution-tables/11i-power.csv'),
  'utf8',
)
  .trim()
  .split('\n')
  .slice(1)
  .map((row) => {
    const [, test, rest] = /^"([^"]*)",(.*)$/.exec(row)!;
    const fields = rest!.replaceAll('"', '').split(',').map(Number);
    return {
      test: test!,
      n: fields[0]!,
      effect: fields[1]!,
      alpha: fields[2]!,
      power: fields.at(-1)!,
    };
  });
const twoLevelPowers = powerTable.filter(({ test }) => test.startsWith('two-sample t, two-sided'));
const oneWayPowers = powerTable.flatMap(({ test, effect: f, ...row }) => {
  const k = Number(/^one-way ANOVA, k=(\d+)/.exec(test)?.[1] ?? 0);
  return k > 2 ? [{ ...row, k, f }] : [];
});

describe('planProperties', () => {
  it('matches tabled powers of comparing two means within 1e-8 relative', () => {
    // One factor at two levels, n cells at each: the test of its main effect is the two-sample t.
    const sizes = twoLevelPowers.filter(({ n }) => n >= 2 && n <= 20);
    expect(sizes.length).toBeGreaterThan(10);
    for (const { n, effect, alpha, power } of sizes) {
      const plan = factorial(plainFactors(1), { options: { replicates: n } });
      const { terms } = planProperties(plan, unit(effect, { alpha }));
      const got = terms.find(({ name }) => name === 'x1')!.power!;
      expect(Math.abs(got / power - 1)).toBeLessThan(1e-8);
    }
  });

  it('tells a 2³ factorial by heart: orthogonal, efficiencies 100 %, df of the table', () => {
    const { terms, efficiencies, df, correlations, leverages } = planProperties(
      factorial(plainFactors(3), { options: { centrePoints: 0 } }),
      unit(2),
    );
    // Standard error 1/√8 of every coefficient, leverage p/n (NIST e-Handbook 5.3.3.3).
    for (const { standardError } of terms) expect(standardError).toBeCloseTo(1 / Math.sqrt(8), 12);
    for (const { varianceInflation } of terms.slice(1))
      expect(varianceInflation).toBeCloseTo(1, 12);
    expect(efficiencies.d).toBeCloseTo(100, 9);
    expect(efficiencies.a).toBeCloseTo(100, 9);
    expect(efficiencies.g).toBeCloseTo(100, 9);
    expect(df).toEqual([
      { name: 'cells', units: 8, model: 4, error: 4, lackOfFit: 4, pureError: 0 },
    ]);
    expect(correlations).toEqual([]);
    for (const value of leverages) expect(value).toBeCloseTo(0.5, 12);
  });

  it('shows the alias of a half fraction: the third factor is the product of the others', () => {
    const plan = planOf({
      factors: plainFactors(3),
      family: 'fractional factorial',
      model: 'main',
      options: { runs: 4, replicates: 2 },
      seed: 1,
    });
    const { aliases } = planProperties(plan, unit(2));
    // Box, Hunter & Hunter (1978), ch. 12: 2^(3−1) with I = ±ABC.
    const shares = aliases.filter(({ term }) => term === 'x3');
    expect(shares).toHaveLength(1);
    expect(shares[0]!.leftOut).toBe('x1 × x2');
    expect(Math.abs(shares[0]!.share)).toBeCloseTo(1, 12);
  });

  it('falls back to the model that a screening plan can tell, and says what is left out', () => {
    const plan = planOf({
      factors: plainFactors(5),
      family: 'plackett-burman',
      model: 'quadratic',
      seed: 1,
    });
    const { assessed, terms, cannotTell } = planProperties(plan, unit(2));
    expect(assessed).toBe('main');
    expect(terms.find(({ name }) => name === 'x1 × x2')).toMatchObject({
      power: null,
      standardError: null,
    });
    expect(cannotTell[0]!.kind).toBe('too-small-for-model');
    expect(terms.find(({ name }) => name === 'x1')!.power).toBeGreaterThan(0);
  });

  it('counts the reset in every cell when each is set anew', () => {
    const plan = planOf(
      request('central composite', { model: 'quadratic', options: { alpha: 'face-centred' } }),
    );
    const change = usualChange(plan.request.factors);
    const apart = planProperties(plan, change);
    const still = planProperties(plan, { ...change, plotRatio: 0 });
    expect(apart.averageError / still.averageError).toBeCloseTo(Math.sqrt(2), 9);
    expect(apart.terms[1]!.power!).toBeLessThan(still.terms[1]!.power!);
  });

  it('works on rounded settings', () => {
    // Zones round to 1 °C, so a level of 192.3 cannot be had: the coded settings are not ±1, 0.
    const plan = planOf(request('space filling', { model: 'main', options: { runs: 9 }, seed: 4 }));
    for (const { natural, setPoints } of plan.ordered.runs) {
      const mean = setPoints!.zonesCelsius.reduce((sum, zone) => sum + zone, 0) / 4;
      expect(natural['level']).toBeCloseTo(mean, 9);
      expect(setPoints!.screwRpm).toBe(natural['screw']);
    }
    const { leverages } = planProperties(plan);
    expect(leverages.reduce((sum, value) => sum + value, 0)).toBeCloseTo(4, 9);
  });

  it('law: hours are holds and measuring, power falls with noise and rises with the effect', () => {
    const plan = planOf(request('box-behnken'));
    const { hours, holdHours, cells } = planProperties(plan);
    expect(hours! - holdHours!).toBeCloseTo((cells * 8) / 60, 9);
    const power = (effect: number, noise: number): number =>
      planProperties(plan, { ...usualChange(plan.request.factors), effect, noise }).terms[1]!
        .power!;
    expect(power(40, 15)).toBeGreaterThan(power(25, 15));
    expect(power(25, 25)).toBeLessThan(power(25, 15));
  });

  it('answers in the published schema', () => {
    for (const family of ['optimal', 'definitive screening', 'central composite']) {
      const factors = family === 'definitive screening' ? plainFactors(6) : plainFactors(3);
      const options = family === 'optimal' ? { starts: 2 } : {};
      const plan = planOf({ factors, family, model: 'quadratic', options, seed: 2 });
      expect(
        PlanAnswer.parse(JSON.parse(JSON.stringify(planAnswer(assessedPlan(plan))))),
      ).toBeTruthy();
    }
  });
});

describe('namedPowers', () => {
  it('matches tabled powers of the one-way F test within 1e-8 relative', () => {
    // k groups of n, two of them a change apart, the rest between: f² = (2·(Δ/2)²/k)/σ², λ = f²kn.
    expect(oneWayPowers.length).toBeGreaterThan(5);
    for (const { k, n, f, alpha, power } of oneWayPowers) {
      const levels = Array.from({ length: k }, (_, i) => `lot ${i + 1}`);
      const plan = factorial([{ name: 'lot', levels, changes: 'easy' }], {
        options: { replicates: n },
      });
      const change = f * Math.sqrt(2 * k);
      const [lot] = planProperties(plan, unit(change, { alpha })).namedFactors;
      expect(Math.abs(lot!.power! / power - 1)).toBeLessThan(1e-8);
    }
  });

  it('says nothing of numeric factors and of two levels', () => {
    const two = factorial([
      { name: 'lot', levels: ['a', 'b'], changes: 'easy' },
      ...plainFactors(1),
    ]);
    expect(planProperties(two, unit(2)).namedFactors).toEqual([]);
  });
});

describe('statedEffect', () => {
  it('takes half the change for a term from −1 to 1 and all of it for a square', () => {
    const change = { ...unit(3), scale: 'percent' as const, effect: 25, noise: 15 };
    expect(statedEffect({ x: 1 }, change).coefficient).toBeCloseTo(Math.log(1.25) / 2, 12);
    expect(statedEffect({ x: 1, y: 1 }, change).coefficient).toBeCloseTo(Math.log(1.25) / 2, 12);
    expect(statedEffect({ x: 2 }, change).coefficient).toBeCloseTo(Math.log(1.25), 12);
    expect(statedEffect({ nozzle: 'a' }, change).sigma).toBeCloseTo(Math.log(1.15), 12);
  });

  it('agrees with the rule of thumb: 16 balanced cells, σ 0.20, a third more is seen four times in five', () => {
    // 2.8 standard errors at 2σ/√N: common practice for large df, no source.
    const plan = factorial(plainFactors(2), { options: { replicates: 4 } });
    const noise = 100 * (Math.exp(0.2) - 1);
    const { terms } = planProperties(plan, { ...unit(32), scale: 'percent', noise });
    expect(terms[1]!.power!).toBeGreaterThan(0.7);
    expect(terms[1]!.power!).toBeLessThan(0.85);
  });
});
