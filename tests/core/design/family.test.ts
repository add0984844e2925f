import { DomainError, designFamilies, designOf, pointKind } from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { codedRows, gram, sampleFactors } from './sample-factors.ts';

function errorOf(build: () => unknown): DomainError {
  try {
    build();
  } catch (error) {
    if (error instanceof DomainError) return error;
    throw error;
  }
  throw new Error('nothing was thrown');
}

const constructed = [
  'full factorial',
  'fractional factorial',
  'plackett-burman',
  'definitive screening',
  'central composite',
  'box-behnken',
  'space filling',
];

describe('designOf', () => {
  it('offers the constructed families by plain names', () => {
    expect(designFamilies.map(({ name }) => name)).toEqual(expect.arrayContaining(constructed));
  });

  it('throws unknown_family and offers the nearest', () => {
    const request = { factors: sampleFactors(3), model: 'main' as const, family: 'box-benkhen' };
    const error = errorOf(() => designOf(request));
    expect(error.code).toBe('unknown_family');
    expect(error.message).toContain('Did you mean "box-behnken"?');
  });

  it.each(constructed)(
    'refuses an unknown option of "%s" by name and offers the nearest',
    (family) => {
      const error = errorOf(() =>
        designOf({ factors: sampleFactors(5), model: 'main', family, options: { centrePoint: 3 } }),
      );
      expect(error.code).toBe('unknown_option');
      expect(error.message).toContain('got "centrePoint"');
      expect(error.message).toContain('Did you mean "centrePoints"?');
    },
  );

  it('throws bad_option with path and value', () => {
    const error = errorOf(() =>
      designOf({
        factors: sampleFactors(3),
        model: 'main',
        family: 'full factorial',
        options: { replicates: 0 },
      }),
    );
    expect(error.code).toBe('bad_option');
    expect(error.message).toMatchInlineSnapshot(
      `"designOf: option "replicates" of family "full factorial" must be acceptable; got 0 (Too small: expected number to be >=1). Correct it or leave it out."`,
    );
  });

  it('throws no_factors', () => {
    const request = { factors: [], model: 'main' as const, family: 'full factorial' };
    expect(errorOf(() => designOf(request)).code).toBe('no_factors');
  });

  it.each(constructed)(
    'law: "%s" gives every factor a setting and repeats for a seed',
    (family) => {
      const factors = sampleFactors(5);
      const request = { factors, model: 'quadratic' as const, family, seed: 12 };
      const design = designOf(request);
      expect(design).toEqual(designOf(request));
      expect(design.family).toBe(family);
      for (const run of design.runs) {
        expect(Object.keys(run.coded)).toEqual(factors.map(({ name }) => name));
        expect(run.block).toBe(1);
        expect([run.wholePlot, run.subWholePlot]).toEqual([null, null]);
      }
    },
  );

  it.each(constructed)(
    'law: "%s" run twice has twice the runs, and centre points are added',
    (family) => {
      const factors = sampleFactors(5);
      const size = (options: Readonly<Record<string, unknown>>): number =>
        designOf({ factors, model: 'main', family, options }).runs.length;
      const once = size({ centrePoints: 2 });
      expect(size({ centrePoints: 4 })).toBe(once + 2);
      expect(size({ replicates: 2, centrePoints: 2 })).toBe(2 * once);
    },
  );

  it('throws run_outside_constraints in words', () => {
    const says = 'factor 1 and factor 2 not both high';
    const constraints = [{ coefficients: { 'factor 1': 1, 'factor 2': 1 }, atMost: 1, says }];
    const error = errorOf(() =>
      designOf({ factors: sampleFactors(2), model: 'main', family: 'full factorial', constraints }),
    );
    expect(error.code).toBe('run_outside_constraints');
    expect(error.message).toMatchInlineSnapshot(
      `"designOf: every run must respect "factor 1 and factor 2 not both high"; got factor 1 10 mm, factor 2 10 mm (run 4 of "full factorial"). Narrow the ranges, or use "optimal" or "space filling", which fit inside limits."`,
    );
  });
});

describe('full factorial', () => {
  it('law: has every combination once, any mix of levels', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 2, max: 4 }), { minLength: 1, maxLength: 4 }),
        fc.integer({ min: 0, max: 2 }),
        (levels, named) => {
          const factors = levels.map((count, i) =>
            i < named
              ? {
                  name: `n${i}`,
                  levels: Array.from({ length: count }, (_, l) => `level ${l}`),
                  changes: 'hard' as const,
                }
              : { name: `n${i}`, low: 0, high: 1, changes: 'easy' as const },
          );
          const design = designOf({
            factors,
            model: 'main',
            family: 'full factorial',
            options: { levels: Object.fromEntries(levels.map((count, i) => [`n${i}`, count])) },
          });
          const keys = new Set(design.runs.map(({ coded }) => JSON.stringify(coded)));
          const size = levels.reduce((product, count) => product * count, 1);
          expect([design.runs.length, keys.size]).toEqual([size, size]);
        },
      ),
      { seed: 8, numRuns: 60 },
    );
  });

  it('spaces numeric levels equally', () => {
    const design = designOf({
      factors: sampleFactors(1),
      model: 'main',
      family: 'full factorial',
      options: { levels: 5 },
    });
    expect(codedRows(design).flat()).toEqual([-1, -0.5, 0, 0.5, 1]);
  });

  it('law: two-level columns are orthogonal, in blocks or not', () => {
    for (let k = 2; k <= 8; k++) {
      const options = k > 2 ? { blocks: 2 } : {};
      const design = designOf({
        factors: sampleFactors(k, 1),
        model: 'main',
        family: 'full factorial',
        options,
      });
      const products = gram(codedRows(design));
      for (const [i, row] of products.entries()) {
        for (const [j, value] of row.entries()) expect(value).toBe(i === j ? 2 ** k : 0);
      }
    }
  });

  it.each([
    ['too_many_runs', 11, {}],
    ['blocks_impossible', 3, { levels: 3, blocks: 3 }],
    ['unknown_factor', 3, { levels: { 'factor 9': 3 } }],
    ['bad_option', 3, { levels: { 'factor 1': 1 } }],
  ])('throws %s', (code, k, options) => {
    const request = {
      factors: sampleFactors(k),
      model: 'main' as const,
      family: 'full factorial',
      options,
    };
    expect(errorOf(() => designOf(request)).code).toBe(code);
  });
});

describe('pointKind', () => {
  it.each([
    [[0, 0, 0], 'centre'],
    [[1, -1, 1], 'corner'],
    [[0, 1.7, 0], 'axial'],
    [[0, 1, -1], 'edge'],
    [[0.5, 1, 0], 'other'],
  ] as const)('names %j a %s', (values, kind) => {
    const factors = sampleFactors(3);
    const coded = Object.fromEntries(factors.map(({ name }, i) => [name, values[i]!]));
    expect(pointKind(coded, factors)).toBe(kind);
  });
});
