import { fitTable, Spec } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { correctDigits, dataTable, expectedOf } from '../../../reference/dataset.ts';

/** A data set as the command gets it: ranges as wide as the data, settings in natural units. */
function fitted(slug: string, terms: (names: readonly string[]) => Record<string, number>[]) {
  const { columns, rows } = dataTable(slug);
  const table = Object.fromEntries(columns.map((name, j) => [name, rows.map((row) => row[j]!)]));
  const names = columns.slice(1);
  const spec = Spec.parse({
    factors: names.map((name) => ({
      name,
      low: Math.min(...table[name]!),
      high: Math.max(...table[name]!),
    })),
    responses: [{ name: columns[0], kind: 'continuous' }],
    model: { terms: terms(names) },
  });
  return fitTable({ spec, table }).responses[0]!;
}

const polynomial = (degree: number) => () => [
  {},
  ...Array.from({ length: degree }, (_, k): Record<string, number> => ({ x: k + 1 })),
];

// NIST Statistical Reference Datasets, linear regression: certified values in natural units, here by
// way of coded columns, which for the polynomial of degree 10 keep six digits more than raw ones.
describe.each([
  { slug: 'nist-norris', terms: polynomial(1), digits: 12 },
  { slug: 'nist-pontius', terms: polynomial(2), digits: 12 },
  { slug: 'nist-filip', terms: polynomial(10), digits: 12 },
  { slug: 'nist-wampler-3', terms: polynomial(5), digits: 9 },
  {
    slug: 'nist-longley',
    terms: (names: readonly string[]) => [{}, ...names.map((name) => ({ [name]: 1 }))],
    digits: 12,
  },
])('terms in natural units of $slug', ({ slug, terms, digits }) => {
  const exact = expectedOf(slug).exact_20_digits;
  const { naturalTerms } = fitted(slug, terms);

  it(`have estimates and errors to ${digits} digits`, () => {
    expect(naturalTerms.length).toBe(exact.coef.length);
    for (const [j, term] of naturalTerms.entries()) {
      const seen = correctDigits(term.estimate, Number(exact.coef[j]));
      expect(seen, `${term.name}: got ${term.estimate}, expected ${exact.coef[j]}`).toBeGreaterThan(
        digits,
      );
      expect(correctDigits(term.standardError!, Number(exact.se[j])), term.name).toBeGreaterThan(
        digits,
      );
    }
  });
});

describe('a term list without an intercept', () => {
  it('goes through the origin of the table’s units (NIST NoInt1)', () => {
    const exact = expectedOf('nist-no-intercept-1').exact_20_digits;
    const fit = fitted('nist-no-intercept-1', () => [{ x: 1 }]);
    expect(fit.terms.map(({ name }) => name)).toEqual(['x']);
    const [term] = fit.terms;
    expect(correctDigits(term!.estimate, Number(exact.coef[0]))).toBeGreaterThan(13);
    expect(correctDigits(term!.standardError!, Number(exact.se[0]))).toBeGreaterThan(13);
    expect(correctDigits(fit.rSquared!, Number(exact.r2))).toBeGreaterThan(13);
    expect(correctDigits(fit.anova!.model.f!, Number(exact.F))).toBeGreaterThan(13);
    expect(fit.sharesSay).toMatch(/about zero/);
    expect(fit.remarks[0]).toMatch(/No intercept.*every natural setting is zero/);
    expect(fit.naturalTerms).toEqual(fit.terms);
  });

  it('fits a blend of three parts, which has none (Cornell 1990, yarn; data and results from memory)', () => {
    const parts = ['A', 'B', 'C'];
    const spec = Spec.parse({
      factors: parts.map((name) => ({ name, low: 0, high: 1 })),
      responses: [{ name: 'y', kind: 'continuous' }],
      model: {
        terms: [{ A: 1 }, { B: 1 }, { C: 1 }, { A: 1, B: 1 }, { A: 1, C: 1 }, { B: 1, C: 1 }],
      },
    });
    const blends: [number, number, number, number[]][] = [
      [1, 0, 0, [11, 12.4]],
      [0.5, 0.5, 0, [15, 14.8, 16.1]],
      [0, 1, 0, [8.8, 10]],
      [0, 0.5, 0.5, [10, 9.7, 11.8]],
      [0, 0, 1, [16.8, 16]],
      [0.5, 0, 0.5, [17.7, 16.4, 16.6]],
    ];
    const rows = blends.flatMap(([a, b, c, seen]) => seen.map((y) => [a, b, c, y]));
    const table = Object.fromEntries(
      [...parts, 'y'].map((name, j) => [name, rows.map((row) => row[j]!)]),
    );
    const fit = fitTable({ spec, table }).responses[0]!;
    const shown = fit.terms.map(({ estimate }) => Number(estimate.toFixed(1)));
    expect(shown).toEqual([11.7, 9.4, 16.4, 19, 11.4, -9.6]);
    expect(fit.terms.map(({ standardError }) => standardError!.toFixed(2))).toEqual([
      '0.60',
      '0.60',
      '0.60',
      '2.61',
      '2.61',
      '2.61',
    ]);
    expect((fit.residualSd! ** 2).toFixed(3)).toBe('0.729');
  });

  it('keeps the intercept where zero is the middle of the settings, and says so', () => {
    const spec = Spec.parse({
      factors: ['a', 'b'].map((name) => ({ name, low: -1, high: 1 })),
      responses: [{ name: 'y', kind: 'continuous' }],
      model: { terms: [{ a: 1 }, { b: 1 }] },
    });
    const table = { a: [-1, 1, -1, 1], b: [-1, -1, 1, 1], y: [10, 14, 11, 16] };
    const [fit] = fitTable({ spec, table }).responses;
    expect(fit!.terms.map(({ name }) => name)).toEqual(['intercept', 'a', 'b']);
    expect(fit!.remarks[0]).toMatch(/has no \{\}.*the intercept was kept/);
  });
});

describe('terms in natural units', () => {
  it('say the same as the coded ones, at any setting', () => {
    const spec = Spec.parse({
      factors: [
        { name: 'heat', low: 180, high: 220 },
        { name: 'speed', low: 10, high: 30 },
        { name: 'die', levels: ['2 mm', '3 mm'] },
      ],
      responses: [{ name: 'y', kind: 'continuous' }],
      model: { terms: [{}, { heat: 2, speed: 1 }, { die: '2 mm', speed: 1 }] },
    });
    const runs = [180, 200, 220].flatMap((heat) =>
      [10, 20, 30].flatMap((speed) => ['2 mm', '3 mm'].map((die) => ({ heat, speed, die }))),
    );
    const y = runs.map((run, i) => run.heat * 0.1 + run.speed ** 1.5 + ((i * 7) % 5));
    const table = {
      heat: runs.map((run) => run.heat),
      speed: runs.map((run) => run.speed),
      die: runs.map((run) => run.die),
      y,
    };
    const fit = fitTable({ spec, table }).responses[0]!;
    for (const [i, { heat, speed, die }] of runs.entries()) {
      const settings: Record<string, number> = { heat, speed };
      const sign = die === '2 mm' ? 1 : -1;
      const value = fit.naturalTerms.reduce((sum, { powers, estimate }) => {
        const factors = Object.entries(powers).map(([name, power]) =>
          typeof power === 'number' ? settings[name]! ** power : sign,
        );
        return sum + factors.reduce((a, b) => a * b, estimate);
      }, 0);
      expect(Math.abs(value / fit.runs[i]!.fitted - 1)).toBeLessThan(1e-10);
    }
  });
});
