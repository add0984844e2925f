import { brokenConstraints, limits, naturalPoint, refusals, seededUniform } from '@strandwise/core';
import {
  demoScenario,
  px31,
  randomGrade,
  type TrueOptimumOf,
  trueOptimum,
  truth,
  virtualGrades,
} from '@strandwise/virtual-line';
import { describe, expect, it } from 'vitest';

const options: TrueOptimumOf = { ...demoScenario, grade: px31 };
const { factors, grade, line } = demoScenario;

describe('trueOptimum', () => {
  it('lies inside the demonstration ranges, meets every limit and is allowed on the line', () => {
    const best = trueOptimum(options);
    expect(best.onEdge).toEqual([]);
    expect(best.meetsLimits).toBe(true);
    expect(refusals(best.setPoints, line, grade, demoScenario.product)).toEqual([]);
    expect(best.conformingShare).toBeGreaterThan(0.99);
    expect(best.state.sdMm * 1000).toBeGreaterThan(9);
    expect(best.state.sdMm * 1000).toBeLessThan(11.2);
  });

  it('is not beaten by 20,000 random settings that meet the limits', () => {
    const best = trueOptimum(options);
    const stateOf = truth(options);
    const uniform = seededUniform(2);
    const { mostBubblesPerMetre, leastOutputKgPerHour } = demoScenario.product;
    let feasible = 0;
    for (let i = 0; i < 20_000; i++) {
      const coded = Object.fromEntries(factors.map(({ name }) => [name, 2 * uniform() - 1]));
      const state = stateOf(naturalPoint(coded, factors));
      const isFeasible =
        state.bubblesPerMetre <= mostBubblesPerMetre &&
        state.outputKgPerHour >= leastOutputKgPerHour &&
        state.unmeltedPerMetre <= 0.5 &&
        state.failureChance <= 0.02;
      if (!isFeasible) continue;
      feasible++;
      expect(state.sdMm).toBeGreaterThan(best.state.sdMm - 1e-6);
    }
    expect(feasible).toBeGreaterThan(1000);
  });

  it('says on which edge it stands when the ranges miss it', () => {
    const narrow = factors.map((factor) =>
      factor.name === 'level' ? { ...factor, low: 200, high: 210 } : factor,
    );
    expect(trueOptimum({ ...options, factors: narrow }).onEdge).toContain('level');
  });

  it('finds the other invented grades in a day dry enough for them', () => {
    for (const virtual of virtualGrades) {
      const surroundings = { moisturePpm: 80, roomCelsius: 23 };
      const best = trueOptimum({ ...options, grade: virtual, surroundings });
      expect([virtual.name, best.meetsLimits]).toEqual([virtual.name, true]);
    }
  });
});

describe('demoScenario', () => {
  it('mostly runs: failures on fewer than one cell in ten, even over the corners', () => {
    const stateOf = truth(options);
    const uniform = seededUniform(3);
    let inside = 0;
    for (let i = 0; i < 2000; i++) {
      const coded = Object.fromEntries(factors.map(({ name }) => [name, 2 * uniform() - 1]));
      inside += stateOf(naturalPoint(coded, factors)).failureChance / 2000;
    }
    let corners = 0;
    for (let mask = 0; mask < 32; mask++) {
      const coded = Object.fromEntries(
        factors.map(({ name }, i) => [name, (mask >> i) & 1 ? 1 : -1]),
      );
      corners += stateOf(naturalPoint(coded, factors)).failureChance / 32;
      expect(brokenConstraints(coded, limits(demoScenario))).toEqual([]);
    }
    expect(inside).toBeLessThan(0.05);
    expect(corners).toBeGreaterThan(0.005);
    expect(corners).toBeLessThan(0.1);
  });
});

describe('randomGrade', () => {
  it('draws 200 different grades whose optimum lies inside the ranges', () => {
    const uniform = seededUniform(11);
    const grades = Array.from({ length: 200 }, () => randomGrade(uniform));
    expect(new Set(grades.map((one) => JSON.stringify({ ...one, name: '' }))).size).toBe(200);
    for (const one of grades.slice(0, 20)) {
      const best = trueOptimum({ ...options, grade: one });
      expect(best.onEdge).toEqual([]);
      expect(best.meetsLimits).toBe(true);
    }
    expect(randomGrade(seededUniform(11))).toEqual(grades[0]);
  });
});
