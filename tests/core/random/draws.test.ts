import {
  bernoulliDraw,
  binomialDraw,
  binomialLogDensity,
  chiSquaredUpper,
  exponentialDraw,
  gammaDraw,
  gammaLower,
  integerDraw,
  negativeBinomialDraw,
  normalLower,
  poissonDraw,
  poissonLogDensity,
  sampled,
  sampledIndices,
  seededUniform,
  standardNormal,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';

const N = 20_000;

/** Kolmogorov's largest distance times √n; 1.95 is passed once in a thousand true laws. */
function kolmogorovDistance(draws: number[], lower: (x: number) => number): number {
  const sorted = Float64Array.from(draws).sort();
  let largest = 0;
  sorted.forEach((x, i) => {
    const p = lower(x);
    largest = Math.max(largest, (i + 1) / sorted.length - p, p - i / sorted.length);
  });
  return largest * Math.sqrt(sorted.length);
}

/** p of Pearson's chi-squared test of counts against exact chances; rare cells are pooled. */
function pearsonP(draws: number[], logDensity: (k: number) => number): number {
  const counts = new Map<number, number>();
  for (const k of draws) counts.set(k, (counts.get(k) ?? 0) + 1);
  const most = Math.max(...draws);
  let statistic = 0;
  let cells = 0;
  let restSeen = draws.length;
  let restWanted = draws.length;
  for (let k = 0; k <= most; k++) {
    const wanted = draws.length * Math.exp(logDensity(k));
    if (wanted < 8) continue;
    const seen = counts.get(k) ?? 0;
    statistic += (seen - wanted) ** 2 / wanted;
    cells += 1;
    restSeen -= seen;
    restWanted -= wanted;
  }
  statistic += (restSeen - restWanted) ** 2 / restWanted;
  return chiSquaredUpper(statistic, cells);
}

const drawn = (count: number, draw: () => number): number[] => Array.from({ length: count }, draw);

describe('continuous draws follow their law', () => {
  it('standardNormal', () => {
    const uniform = seededUniform(1, 'normal');
    expect(
      kolmogorovDistance(
        drawn(N, () => standardNormal(uniform)),
        normalLower,
      ),
    ).toBeLessThan(1.95);
  });

  it('exponentialDraw', () => {
    const uniform = seededUniform(2, 'exponential');
    const distance = kolmogorovDistance(
      drawn(N, () => exponentialDraw(uniform)),
      (x) => -Math.expm1(-x),
    );
    expect(distance).toBeLessThan(1.95);
  });

  it.each([0.3, 1, 2.5, 40])('gammaDraw of shape %f', (shape) => {
    const uniform = seededUniform(3, `gamma ${shape}`);
    const distance = kolmogorovDistance(
      drawn(N, () => gammaDraw(shape, uniform)),
      (x) => gammaLower(x, shape),
    );
    expect(distance).toBeLessThan(1.95);
  });
});

describe('count draws follow their law', () => {
  // One true law in a thousand gives p below 1e-3; the seeds are fixed, so this cannot flicker.
  it.each([0.2, 4, 9.9, 10, 33.3, 400])('poissonDraw of mean %f', (mean) => {
    const uniform = seededUniform(4, `poisson ${mean}`);
    const draws = drawn(N, () => poissonDraw(mean, uniform));
    expect(pearsonP(draws, (k) => poissonLogDensity(k, mean))).toBeGreaterThan(1e-3);
  });

  it.each([
    [5, 0.3],
    [40, 0.2],
    [30, 0.5],
    [100, 0.35],
    [200, 0.9],
    [5000, 0.02],
  ])('binomialDraw of %i trials with chance %f', (trials, share) => {
    const uniform = seededUniform(5, `binomial ${trials} ${share}`);
    const draws = drawn(N, () => binomialDraw(trials, share, uniform));
    expect(pearsonP(draws, (k) => binomialLogDensity(k, trials, share))).toBeGreaterThan(1e-3);
  });

  it('negativeBinomialDraw has mean m and variance m + m²/θ', () => {
    const uniform = seededUniform(6, 'negative binomial');
    const draws = drawn(N, () => negativeBinomialDraw({ mean: 6, size: 2 }, uniform));
    const mean = draws.reduce((sum, k) => sum + k, 0) / N;
    const variance = draws.reduce((sum, k) => sum + (k - mean) ** 2, 0) / (N - 1);
    // Variance 24: four standard errors of the mean; excess kurtosis 3.04 gives the variance's.
    expect(Math.abs(mean - 6)).toBeLessThan(4 * Math.sqrt(24 / N));
    expect(Math.abs(variance - 24)).toBeLessThan(4 * 24 * Math.sqrt((2 + 3.05) / N));
  });

  it('bernoulliDraw and integerDraw', () => {
    const uniform = seededUniform(7, 'small');
    const hits = drawn(N, () => Number(bernoulliDraw(0.3, uniform))).reduce((a, b) => a + b, 0);
    expect(Math.abs(hits / N - 0.3)).toBeLessThan(4 * Math.sqrt(0.21 / N));
    const faces = drawn(N, () => integerDraw({ low: -2, high: 3 }, uniform));
    expect(
      pearsonP(
        faces.map((k) => k + 2),
        (k) => (k < 6 ? -Math.log(6.000001) : -99),
      ),
    ).toBeGreaterThan(1e-3);
    expect(Math.min(...faces)).toBe(-2);
    expect(Math.max(...faces)).toBe(3);
  });

  it('has certain outcomes at the ends', () => {
    const uniform = seededUniform(8);
    expect(poissonDraw(0, uniform)).toBe(0);
    expect(binomialDraw(9, 0, uniform)).toBe(0);
    expect(binomialDraw(9, 1, uniform)).toBe(9);
    expect(bernoulliDraw(1, uniform)).toBe(true);
    expect(integerDraw({ low: 4, high: 4 }, uniform)).toBe(4);
  });
});

describe('sampling without replacement', () => {
  it('law: indices are different and in range', () => {
    const uniform = seededUniform(9);
    for (let total = 0; total < 40; total++) {
      for (const count of [0, total >> 1, total]) {
        const picked = sampledIndices(total, count, uniform);
        expect(new Set(picked).size).toBe(count);
        expect(picked.every((i) => i >= 0 && i < total)).toBe(true);
      }
    }
  });

  it('picks every ordered pair of four equally often', () => {
    const uniform = seededUniform(10);
    const pairs = drawn(12_000, () => {
      const [a, b] = sampledIndices(4, 2, uniform);
      return a! * 3 + (b! > a! ? b! - 1 : b!);
    });
    expect(pearsonP(pairs, (k) => (k < 12 ? -Math.log(12.000001) : -99))).toBeGreaterThan(1e-3);
  });

  it('leaves the items alone', () => {
    const items = Object.freeze(['a', 'b', 'c']);
    expect(sampled(items, 3, seededUniform(11)).sort()).toEqual(['a', 'b', 'c']);
  });
});

describe('first values of a seed', () => {
  // A public promise: these change only in a major version.
  it('are pinned', () => {
    const from = (draw: (uniform: () => number) => number, stream: string): number[] => {
      const uniform = seededUniform(2024, stream);
      return drawn(4, () => draw(uniform));
    };
    const rounded = (values: number[]): number[] => values.map((v) => Number(v.toPrecision(12)));
    expect({
      normal: rounded(from(standardNormal, 'normal')),
      exponential: rounded(from(exponentialDraw, 'exponential')),
      gamma: rounded(from((u) => gammaDraw(2.5, u), 'gamma')),
      poissonSmall: from((u) => poissonDraw(3, u), 'poisson'),
      poissonLarge: from((u) => poissonDraw(60, u), 'poisson'),
      negativeBinomial: from((u) => negativeBinomialDraw({ mean: 6, size: 2 }, u), 'nb'),
      binomial: from((u) => binomialDraw(100, 0.4, u), 'binomial'),
      integer: from((u) => integerDraw({ low: 1, high: 6 }, u), 'integer'),
      sample: sampledIndices(20, 6, seededUniform(2024, 'sample')),
    }).toMatchInlineSnapshot(`
      {
        "binomial": [
          55,
          32,
          40,
          48,
        ],
        "exponential": [
          0.42489253713,
          0.202159204164,
          0.0627799515492,
          1.48794761986,
        ],
        "gamma": [
          1.07129829695,
          7.15647402555,
          1.04618017269,
          1.92883578265,
        ],
        "integer": [
          1,
          6,
          6,
          1,
        ],
        "negativeBinomial": [
          1,
          3,
          8,
          3,
        ],
        "normal": [
          0.28760385822,
          0.467907064228,
          -0.655816410842,
          -2.35757785405,
        ],
        "poissonLarge": [
          50,
          59,
          56,
          67,
        ],
        "poissonSmall": [
          1,
          1,
          3,
          0,
        ],
        "sample": [
          1,
          17,
          16,
          18,
          0,
          19,
        ],
      }
    `);
  });
});

describe('bad input', () => {
  it.each([
    ['negative shape', () => gammaDraw(-1, seededUniform(1))],
    ['NaN mean', () => poissonDraw(Number.NaN, seededUniform(1))],
    ['share above one', () => binomialDraw(4, 1.1, seededUniform(1))],
    ['zero size', () => negativeBinomialDraw({ mean: 1, size: 0 }, seededUniform(1))],
    ['reversed bounds', () => integerDraw({ low: 3, high: 2 }, seededUniform(1))],
    ['more than there are', () => sampledIndices(3, 4, seededUniform(1))],
  ])('throws out_of_domain for %s', (_, call) => {
    expect(call).toThrowError(expect.objectContaining({ code: 'out_of_domain' }));
  });
});
