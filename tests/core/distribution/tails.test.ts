import * as core from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const probability = fc
  .double({ min: -280, max: -0.01, noNaN: true })
  .map((exponent) => 10 ** exponent);
const degrees = fc.double({ min: -0.3, max: 5, noNaN: true }).map((exponent) => 10 ** exponent);
const settings = { seed: 20, numRuns: 400 };

/** Going there and back: 1e-10, since ln p up to 645 and hazards up to 1e5 multiply a last bit. */
function expectBack(back: number, p: number): void {
  expect(Math.abs(back / p - 1), `back ${back}, expected ${p}`).toBeLessThan(1e-10);
}

describe('quantiles', () => {
  it('law: normal tail of the quantile is the probability', () => {
    fc.assert(
      fc.property(probability, (p) => {
        expectBack(core.normalUpper(core.normalUpperQuantile(p)), p);
        expectBack(core.normalLower(core.normalQuantile(p)), p);
      }),
      settings,
    );
  });

  it('law: t tail of the quantile is the probability, any df', () => {
    fc.assert(
      fc.property(probability, degrees, (p, df) => {
        const t = core.tUpperQuantile(p, df);
        if (Number.isFinite(t)) expectBack(core.tUpper(t, df), p);
      }),
      settings,
    );
  });

  it('law: F and chi-squared tails of the quantile are the probability, either side', () => {
    fc.assert(
      fc.property(probability, degrees, degrees, (p, df1, df2) => {
        const high = core.fUpperQuantile(p, df1, df2);
        if (high < 1e300) expectBack(core.fUpper(high, df1, df2), p);
        const low = core.fQuantile(p, df1, df2);
        if (low > 1e-300) expectBack(core.fLower(low, df1, df2), p);
        expectBack(core.chiSquaredUpper(core.chiSquaredUpperQuantile(p, df1), df1), p);
        const small = core.chiSquaredQuantile(p, df1);
        if (small > 1e-300) expectBack(core.chiSquaredLower(small, df1), p);
      }),
      settings,
    );
  });

  it('law: gamma and beta tails of the quantile are the probability', () => {
    fc.assert(
      fc.property(probability, degrees, degrees, (p, a, b) => {
        expectBack(core.gammaUpper(core.gammaUpperQuantile(p, a), a), p);
        const x = core.betaQuantile(p, a, b);
        // Near 1 a double cannot hold the quantile itself.
        if (x > 1e-300 && x < 0.9) expectBack(core.betaLower(x, a, b), p);
      }),
      settings,
    );
  });

  it('is symmetric for t and gives the ends', () => {
    expect(core.tQuantile(0.1, 7)).toBeCloseTo(-core.tQuantile(0.9, 7), 12);
    expect(core.tQuantile(0.5, 3)).toBe(0);
    expect(core.tQuantile(1, 3)).toBe(Number.POSITIVE_INFINITY);
    expect(core.normalQuantile(0)).toBe(Number.NEGATIVE_INFINITY);
    expect(core.fUpperQuantile(1, 2, 3)).toBe(0);
    expect(core.chiSquaredUpperQuantile(0, 3)).toBe(Number.POSITIVE_INFINITY);
  });
});

describe('limits between families', () => {
  it('gives the normal for t with infinite df and chi-squared for F with infinite df2', () => {
    expect(core.tTwoSided(1.5, Number.POSITIVE_INFINITY)).toBe(core.normalTwoSided(1.5));
    expect(core.tUpperQuantile(0.025, Number.POSITIVE_INFINITY)).toBeCloseTo(1.959963984540054, 14);
    expect(core.fUpper(2.5, 4, Number.POSITIVE_INFINITY)).toBe(core.chiSquaredUpper(10, 4));
    expect(core.fQuantile(0.2, 4, Number.POSITIVE_INFINITY) * 4).toBeCloseTo(
      core.chiSquaredQuantile(0.2, 4),
      12,
    );
  });

  it('gives F = t² for one numerator degree of freedom, and closed forms for 1 and 2 df', () => {
    expect(core.fUpper(6.25, 1, 8.5)).toBeCloseTo(core.tTwoSided(2.5, 8.5), 14);
    expect(core.tUpper(3, 1)).toBeCloseTo(0.5 - Math.atan(3) / Math.PI, 14);
    expect(core.tUpper(3, 2)).toBeCloseTo(0.5 - 3 / (2 * Math.sqrt(11)), 14);
    expect(core.chiSquaredUpper(7, 2)).toBeCloseTo(Math.exp(-3.5), 15);
  });

  it('law: lower and upper tail sum to one, also noncentral', () => {
    const x = fc.double({ min: 0.01, max: 200, noNaN: true });
    const shift = fc.double({ min: -30, max: 30, noNaN: true });
    fc.assert(
      fc.property(x, degrees, shift, (v, df, delta) => {
        const shape = { df1: df, df2: 7.5, lambda: delta * delta };
        const sums = [
          core.fLower(v, df, 7.5) + core.fUpper(v, df, 7.5),
          core.noncentralFLower(v, shape) + core.noncentralFUpper(v, shape),
          core.noncentralChiSquaredLower(v, df, delta * delta) +
            core.noncentralChiSquaredUpper(v, df, delta * delta),
          core.noncentralTLower(v, df, delta) + core.noncentralTUpper(v, df, delta),
        ];
        for (const sum of sums) expect(Math.abs(sum - 1)).toBeLessThan(1e-10);
      }),
      { seed: 21, numRuns: 150 },
    );
  });

  it('gives noncentral F of one df as both tails of noncentral t', () => {
    const both = core.noncentralTUpper(2.2, 9, 1.7) + core.noncentralTUpper(2.2, 9, -1.7);
    const f = core.noncentralFUpper(2.2 ** 2, { df1: 1, df2: 9, lambda: 1.7 ** 2 });
    expect(both / f).toBeCloseTo(1, 12);
  });

  it('inverts the noncentral t', () => {
    for (const p of [1e-6, 0.05, 0.5, 0.95]) {
      const t = core.noncentralTQuantile(p, 6.5, 3.2);
      expectBack(core.noncentralTLower(t, 6.5, 3.2), p);
    }
  });

  it('gives the studentized range of two means as the t, any df and far out', () => {
    for (const df of [1, 2, 7.5, 60, 1e5]) {
      for (const q of [0.3, 3, 9, 30]) {
        const twice = core.tTwoSided(q / Math.SQRT2, df);
        expect(Math.abs(core.studentizedRangeUpper(q, 2, df) / twice - 1)).toBeLessThan(1e-11);
      }
    }
  });
});

describe('bad input', () => {
  const refused: [string, () => number][] = [
    ['negative df of t', () => core.tUpper(1, -2)],
    ['NaN t', () => core.tTwoSided(Number.NaN, 3)],
    ['zero df of F', () => core.fUpper(1, 0, 3)],
    ['negative F', () => core.fUpper(-1, 2, 3)],
    ['negative chi-squared', () => core.chiSquaredLower(-0.1, 2)],
    ['probability above one', () => core.normalQuantile(1.01)],
    ['NaN probability', () => core.tQuantile(Number.NaN, 4)],
    ['negative noncentrality', () => core.noncentralFUpper(1, { df1: 1, df2: 2, lambda: -1 })],
    ['one mean', () => core.studentizedRangeUpper(3, 1, 10)],
    ['too many means', () => core.studentizedRangeUpper(3, 1001, 10)],
    ['alpha of one', () => core.tPowerTwoSided(1, 5, 1)],
    ['fractional count', () => core.poissonLower(1.5, 2)],
    ['zero argument of ln gamma', () => core.logGamma(0)],
    ['negative argument of digamma', () => core.digamma(-0.5)],
    ['content of one', () => core.toleranceFactorTwoSided(10, 1, 0.95)],
    ['beta argument above one', () => core.betaLower(1.5, 1, 1)],
  ];

  it.each(refused)('throws out_of_domain for %s', (_, call) => {
    expect(call).toThrowError(expect.objectContaining({ code: 'out_of_domain' }));
  });

  it('says what was asked, got and to do', () => {
    expect(() => core.tUpper(1, -2)).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: tTwoSided: degrees of freedom must exceed zero; got -2. Check the degrees of freedom.]`,
    );
  });

  it('throws sample_too_small for one reading, and count_above_trials', () => {
    expect(() => core.toleranceFactorHowe(1, 0.9, 0.9)).toThrowError(
      expect.objectContaining({ code: 'sample_too_small' }),
    );
    expect(() => core.binomialLimits(4, 3, 0.9)).toThrowError(
      expect.objectContaining({ code: 'count_above_trials' }),
    );
  });
});
