import { factorialEffects, leastSquares, lenth } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { column, dataJson, dataTable, expectClose, expectedOf, matrixFor } from './dataset.ts';

// Lenth (1989); data of Montgomery and of Box, Hunter & Hunter as said in SOURCE.md.
// 1e-8 relative: t quantiles on fractional df.

const subsets = (names: readonly string[]): string[] =>
  Array.from({ length: 2 ** names.length - 1 }, (_, i) =>
    names.filter((_, bit) => (i + 1) & (1 << bit)).join(':'),
  );

function effectsOf(y: Float64Array, names: readonly string[]) {
  const rows = Array.from(y, (_, i) => names.map((_, bit) => (i & (1 << bit) ? 1 : -1)));
  const labels = subsets(names);
  const fit = leastSquares({
    x: matrixFor({ columns: names, rows }, ['(Intercept)', ...labels]),
    y,
  });
  if (fit.kind !== 'saturated') throw new Error(fit.kind);
  return { labels, effects: factorialEffects(fit.coefficients.slice(1)) };
}

describe('lenth', () => {
  const data = dataJson('lenth-examples');
  const expected = expectedOf('lenth-examples');
  const cases = [
    ['filtration', Float64Array.from(data.filtration as number[]), expected.filtration],
    ['drill_raw', Float64Array.from(data.drill as number[]), expected.drill_raw],
    ['drill_log', Float64Array.from(data.drill as number[], Math.log), expected.drill_log],
  ] as const;

  it.each(cases)('matches effects, margins and ratios of %s', (_, y, wanted) => {
    const { labels, effects } = effectsOf(y, ['A', 'B', 'C', 'D']);
    for (const [j, label] of labels.entries())
      expect(Math.abs(effects[j]! - wanted.effects[label]), label).toBeLessThan(1e-10);
    const found = lenth(effects);
    expectClose(found.pse, wanted.lenth.PSE, 1e-10, 'PSE');
    expectClose(found.df, wanted.lenth.df, 1e-12, 'df');
    expectClose(found.me, wanted.lenth.ME, 1e-8, 'ME');
    expectClose(found.sme, wanted.lenth.SME, 1e-8, 'SME');
    for (const [j, label] of labels.entries())
      expect(Math.abs(found.effects[j]!.ratio! - wanted.lenth.t_ratio[label]), label).toBeLessThan(
        1e-10,
      );
  });

  it('uses fractional degrees of freedom (bicycle, 7 effects)', () => {
    const found = lenth(Float64Array.from(data.bike_effects as number[]));
    expectClose(found.df, expected.bike.df, 1e-12, 'df');
    expectClose(found.me, expected.bike.ME, 1e-8, 'ME');
    expectClose(found.sme, expected.bike.SME, 1e-8, 'SME');
  });

  it('matches the 31 effects of the ceramics factorial (NIST/SEMATECH e-Handbook 5.4.7.1)', () => {
    const ceramics = expectedOf('ceramics-factorial');
    const table = dataTable('ceramics-factorial');
    const labels = Object.keys(ceramics.saturated_effects);
    const fit = leastSquares({
      x: matrixFor(table, ['(Intercept)', ...labels]),
      y: column(table, 'strength'),
    });
    if (fit.kind !== 'saturated') throw new Error(fit.kind);
    const effects = factorialEffects(fit.coefficients.slice(1));
    for (const [j, label] of labels.entries())
      expect(Math.abs(effects[j]! - ceramics.saturated_effects[label]), label).toBeLessThan(1e-9);
    const found = lenth(effects);
    expectClose(found.pse, ceramics.lenth.pse, 1e-9, 'PSE');
    expectClose(found.me, ceramics.lenth.ME, 1e-8, 'ME');
    expectClose(found.sme, ceramics.lenth.SME, 1e-8, 'SME');
  });

  it('throws too_few_effects when there are two', () => {
    expect(() => lenth(Float64Array.of(1, 2))).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: lenth: effects must number at least 3; got 2. Use replicated runs to judge so few.]`,
    );
  });
});

describe('factorialEffects', () => {
  it('matches the bicycle and the spring (Box, Hunter & Hunter 1978; Box & Bisgaard 1987)', () => {
    const data = dataJson('bicycle-and-spring');
    const expected = expectedOf('bicycle-and-spring');
    const bike = leastSquares({
      x: matrixFor(data.bike, ['(Intercept)', ...data.bike.columns.slice(1)]),
      y: column(data.bike, 'y'),
    });
    const labels = Object.keys(expected.spring_effects);
    const spring = leastSquares({
      x: matrixFor(data.spring, ['(Intercept)', ...labels]),
      y: column(data.spring, 'y'),
    });
    if (bike.kind !== 'saturated' || spring.kind !== 'saturated') throw new Error('not saturated');
    const seven = factorialEffects(bike.coefficients.slice(1));
    for (const [j, value] of seven.entries())
      expect(Math.abs(value - expected.bike_effects_x1_to_x7[j])).toBeLessThan(1e-9);
    expect(bike.coefficients[0]).toBeCloseTo(expected.bike_mean, 9);
    const eight = factorialEffects(spring.coefficients.slice(1));
    for (const [j, label] of labels.entries())
      expect(Math.abs(eight[j]! - expected.spring_effects[label]), label).toBeLessThan(1e-9);
    expect(spring.coefficients[0]).toBeCloseTo(expected.spring_mean, 9);
  });
});
