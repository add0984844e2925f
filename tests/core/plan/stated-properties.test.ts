import { assessedPlan, type Factor, type Model, planOf } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { expectClose, expectedOf } from '../../reference/dataset.ts';

const factors = (k: number): Factor[] =>
  Array.from({ length: k }, (_, j) => ({
    name: `x${j + 1}`,
    low: 10,
    high: 20 + j,
    changes: 'easy',
  }));

function properties(k: number, family: string, options: object, model: Model = 'main') {
  const request = { factors: factors(k), model, family, options: { ...options }, seed: 1 };
  return assessedPlan(planOf(request)).properties;
}

interface Aberration {
  readonly k: number;
  readonly runs: number;
  readonly resolution: number;
  readonly wlp_from_A3: readonly number[];
}

describe('what a plan states of itself', () => {
  // Fries & Hunter (1980); tables of Box, Hunter & Hunter; SOURCE.md of the data set.
  const table = expectedOf('minimum-aberration') as readonly Aberration[];
  it.each(table.filter(({ k }) => k <= 8))('has the words of $k factors in $runs runs', (want) => {
    const seen = properties(want.k, 'fractional factorial', { runs: want.runs });
    expect(seen.resolution).toBe(want.resolution);
    const padded = seen.wordLengthPattern!.map((_, i) => want.wlp_from_A3[i] ?? 0);
    expect(seen.wordLengthPattern).toEqual(padded);
    expect(seen.fraction!.definingWords.length).toBe(padded.reduce((a, b) => a + b, 0));
  });

  it('names generators and chains of the half fraction of four factors (e-Handbook 5.3.3.4.2)', () => {
    const { fraction } = properties(4, 'fractional factorial', { runs: 8 });
    expect(fraction).toMatchObject({
      kind: 'regular',
      generators: ['D = ABC'],
      definingWords: ['ABCD'],
      aliasChains: [
        ['AB', 'CD'],
        ['AC', 'BD'],
        ['AD', 'BC'],
      ],
    });
  });

  it('gives the determinant of an orthogonal saturated plan, for the model asked for', () => {
    const { asked, fraction } = properties(11, 'plackett-burman', { runs: 12 });
    expectClose(asked.logDeterminant!, 12 * Math.log(12), 1e-12, 'ln det');
    expectClose(asked.dEfficiency!, 100, 1e-12, 'D');
    expectClose(asked.aEfficiency!, 100, 1e-12, 'A');
    expect(fraction).toMatchObject({ kind: 'non-regular', resolution: 3 });
  });

  it('gives the determinant and the axial distance of second-order plans (Box & Behnken 1960)', () => {
    const [first] = expectedOf('second-order-designs').box_behnken;
    const edge = properties(first.k, 'box-behnken', { centrePoints: first.centre }, 'quadratic');
    expectClose(edge.asked.logDeterminant!, first.log_det_XtX, 1e-10, 'ln det');
    expect([edge.fraction, edge.resolution, edge.axialDistance]).toEqual([null, null, null]);
    const composite = properties(2, 'central composite', {}, 'quadratic');
    expectClose(composite.axialDistance!, Math.SQRT2, 1e-12, 'axial distance');
  });

  it('has no determinant where a term cannot be told', () => {
    const { asked } = properties(2, 'full factorial', {}, 'quadratic');
    expect(asked).toMatchObject({ terms: 6, logDeterminant: null, averageVariance: null });
  });
});
