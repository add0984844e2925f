import {
  averagePredictionVariance,
  coefficientVariances,
  designInformation,
  designOf,
  modelTerms,
  type NumericFactor,
  predictionVariance,
  termOrder,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { expectedOf } from './dataset.ts';

// Box & Hunter (1957), Ann. Math. Statist. 28:195-241; see datasets/second-order-designs/SOURCE.md.
const cases = expectedOf('second-order-designs').rotatable as readonly {
  k: number;
  factorial: string;
  alpha: number;
  with_5_centre_var_over_sigma2: Record<string, number>;
  'prediction_variance_at_radius_0_0.5_1_alpha': number[];
}[];

const relative = (got: number, wanted: number) => Math.abs(got / wanted - 1);

describe('variances of rotatable designs with five centre points', () => {
  for (const known of cases) {
    const { k, factorial, alpha } = known;
    const factors: NumericFactor[] = Array.from({ length: k }, (_, i) => ({
      name: `x${i + 1}`,
      low: -1,
      high: 1,
      changes: 'easy',
    }));
    const design = designOf({
      factors,
      model: 'quadratic',
      family: 'central composite',
      options: {
        alpha,
        centrePoints: 5,
        cubeRuns: 2 ** (factorial.includes('-1') ? k - 1 : k),
      },
    });
    const terms = modelTerms('quadratic', factors);
    const information = designInformation({ factors, terms, runs: design.runs });

    it(`matches coefficient variances, ${factorial}`, () => {
      const variances = coefficientVariances(information);
      for (const [t, powers] of terms.entries()) {
        const isSquare = Object.values(powers)[0] === 2;
        const kind = ['intercept', 'linear', isSquare ? 'quadratic' : 'interaction'][
          termOrder(powers)
        ]!;
        const wanted = known.with_5_centre_var_over_sigma2[kind]!;
        expect(relative(variances[t]!, wanted), `${kind} ${variances[t]}`).toBeLessThan(1e-10);
      }
    });

    it(`matches prediction variances in every direction, ${factorial}`, () => {
      const radii = [0, 0.5, 1, alpha];
      const directions = [
        Array.from({ length: k }, (_, i) => (i === 0 ? 1 : 0)),
        Array.from({ length: k }, () => 1 / Math.sqrt(k)),
        Array.from({ length: k }, (_, i) => (i % 2 ? 0.6 : -0.8)),
      ].map((d) => {
        const size = Math.hypot(...d);
        return d.map((value) => value / size);
      });
      for (const [r, radius] of radii.entries()) {
        const wanted = known['prediction_variance_at_radius_0_0.5_1_alpha'][r]!;
        for (const direction of directions) {
          const coded = Object.fromEntries(
            factors.map(({ name }, i) => [name, radius * direction[i]!]),
          );
          const got = predictionVariance(information, coded);
          expect(relative(got, wanted), `radius ${radius}: ${got}`).toBeLessThan(1e-10);
        }
      }
    });
  }
});

describe('averagePredictionVariance', () => {
  it('matches exhaustive and best-found I-optimal designs', () => {
    for (const known of expectedOf('optimal-designs').exact_second_order) {
      const factors: NumericFactor[] = Array.from({ length: known.k }, (_, i) => ({
        name: `x${i + 1}`,
        low: -1,
        high: 1,
        changes: 'easy',
      }));
      const runs = (known.I_design as number[][]).map((row) => ({
        coded: Object.fromEntries(factors.map(({ name }, j) => [name, row[j]!])),
        block: 1,
        wholePlot: null,
        subWholePlot: null,
      }));
      const terms = modelTerms('quadratic', factors);
      const information = designInformation({ factors, terms, runs });
      const { value, samplingError } = averagePredictionVariance(information);
      expect(relative(value, known['I_average_variance_tr(XtX^-1 W)'])).toBeLessThan(1e-10);
      expect(samplingError).toBe(0);
    }
  });
});
