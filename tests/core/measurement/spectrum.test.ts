import {
  finePowers,
  harmonicFit,
  periodogram,
  powerAt,
  sampleVariance,
  varianceSplit,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { autoregressive, normalSource } from './noise.ts';

describe('harmonicFit', () => {
  it('takes out a planted wave to its last digit, whole turns or not', () => {
    for (const n of [600, 607]) {
      const x = Float64Array.from(
        { length: n },
        (_, i) => 1.75 + 0.01 * Math.cos(0.5236 * i + 0.3) + 0.004 * Math.sin(1.0472 * i),
      );
      const fit = harmonicFit(x, 0.5236 / (2 * Math.PI));
      expect(fit.amplitudes[0]).toBeCloseTo(0.01, 10);
      expect(fit.amplitudes[1]).toBeCloseTo(0.004, 10);
      expect(Math.sqrt(sampleVariance(fit.remainder))).toBeLessThan(1e-12);
    }
  });

  it('throws frequency_out_of_range at half the reading rate', () => {
    expect(() => harmonicFit(new Float64Array(9), 0.5)).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: harmonicFit: the frequency must lie between 0 and 0.5 cycles a reading; got 0.5. Read the gauge at least twice a turn.]`,
    );
  });
});

describe('periodogram', () => {
  it('law: sums to the variance with divisor n (Parseval), any values', () => {
    const values = fc.array(fc.double({ min: -5, max: 5, noNaN: true }), {
      minLength: 8,
      maxLength: 70,
    });
    fc.assert(
      fc.property(values, (list) => {
        const x = Float64Array.from(list);
        const expected = (sampleVariance(x) * (x.length - 1)) / x.length;
        const got = periodogram(x).reduce((sum, p) => sum + p, 0);
        expect(Math.abs(got - expected)).toBeLessThan(1e-9);
      }),
      { seed: 4 },
    );
  });

  it('law: the fast transform agrees with the direct sum', () => {
    const d = autoregressive(100, 0.5, normalSource(8));
    const { size, power } = finePowers(d);
    for (const k of [1, 7, 100, size / 2]) {
      expect(power[k]! / powerAt(d, k / size)).toBeCloseTo(1, 8);
    }
  });
});

describe('varianceSplit', () => {
  it('sends a screw wave, a slow wave and a fast wave to their parts', () => {
    const x = Float64Array.from(
      { length: 1200 },
      (_, i) =>
        0.02 * Math.sin((2 * Math.PI * i) / 12) +
        0.01 * Math.sin((2 * Math.PI * i) / 150) +
        0.006 * Math.sin((2 * Math.PI * i) / 4),
    );
    const split = varianceSplit(x, 1, 5);
    expect(split.screwTurn).toBeCloseTo(0.02 ** 2 / 2, 6);
    expect(split.slow).toBeCloseTo(0.01 ** 2 / 2, 6);
    expect(split.fast).toBeCloseTo(0.006 ** 2 / 2, 6);
    expect(split.middle).toBeLessThan(1e-9);
  });

  it('law: the four parts sum to the variance, also across pieces', () => {
    for (const n of [300, 601, 9000]) {
      const x = autoregressive(n, 0.9, normalSource(n));
      const { screwTurn, slow, middle, fast } = varianceSplit(x, 1, 7);
      expect((screwTurn + slow + middle + fast) / sampleVariance(x)).toBeCloseTo(1, 10);
    }
  });

  it('shares white noise by the width of the bands', () => {
    const x = autoregressive(6000, 0, normalSource(77));
    const { slow, middle, fast } = varianceSplit(x, 1, 0);
    // Bands in cycles a reading: 1/60 of 1/2 is slow, 0.4 of 0.5 is fast.
    expect(slow).toBeCloseTo(1 / 30, 1);
    expect(middle).toBeCloseTo((0.1 - 1 / 60) / 0.5, 1);
    expect(fast).toBeCloseTo(0.8, 1);
  });
});
