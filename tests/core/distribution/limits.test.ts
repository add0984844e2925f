import {
  binomialLimits,
  binomialLogDensity,
  binomialUpper,
  logSdMoments,
  poissonLimits,
  poissonLogDensity,
  poissonLower,
  poissonUpper,
  poissonUpperLimit,
  tPowerOneSided,
  tPowerTwoSided,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';

describe('poissonLimits', () => {
  // Garwood (1936), as tabled in many handbooks; from memory, to the digits given.
  it.each([
    [0, 0, 3.689],
    [1, 0.0253, 5.572],
    [3, 0.6187, 8.767],
    [5, 1.6235, 11.668],
    [10, 4.795, 18.39],
    [25, 16.179, 36.905],
    [50, 37.111, 65.919],
  ])('gives the handbook limits of a count of %i at 95 %', (count, low, high) => {
    const limits = poissonLimits(count, 0.95);
    expect(limits.low).toBeCloseTo(low, 3);
    expect(limits.high).toBeCloseTo(high, 3);
  });

  it('puts 2.5 % beyond each limit', () => {
    const { low, high } = poissonLimits(7, 0.95);
    expect(poissonUpper(6, low)).toBeCloseTo(0.025, 12);
    expect(poissonLower(7, high)).toBeCloseTo(0.025, 12);
  });

  it('allows −ln 0.05 events when none was seen, one-sided', () => {
    expect(poissonUpperLimit(0, 0.95)).toBeCloseTo(-Math.log(0.05), 12);
    expect(poissonLower(3, poissonUpperLimit(3, 0.4))).toBeCloseTo(0.6, 12);
  });
});

describe('binomialLimits', () => {
  it('has closed forms at none and all of n', () => {
    expect(binomialLimits(0, 20, 0.95)).toEqual({
      low: 0,
      high: expect.closeTo(1 - 0.025 ** (1 / 20), 12),
    });
    expect(binomialLimits(20, 20, 0.95)).toEqual({
      low: expect.closeTo(0.025 ** (1 / 20), 12),
      high: 1,
    });
  });

  it('puts 5 % beyond the lower limit', () => {
    expect(binomialUpper(6, 30, binomialLimits(7, 30, 0.9).low)).toBeCloseTo(0.05, 12);
  });
});

describe('log densities', () => {
  it('sum to one over all counts', () => {
    let poisson = 0;
    for (let k = 0; k < 200; k++) poisson += Math.exp(poissonLogDensity(k, 37.5));
    let binomial = 0;
    for (let k = 0; k <= 60; k++) binomial += Math.exp(binomialLogDensity(k, 60, 0.37));
    expect(poisson).toBeCloseTo(1, 13);
    expect(binomial).toBeCloseTo(1, 13);
  });
});

describe('logSdMoments', () => {
  // ¼ψ′(ν/2) and ½(ψ(ν/2) − ln(ν/2)) by mpmath 1.3.0, to 16 decimals.
  it.each([
    [5, 0.1225894390250587, -0.106567045614456],
    [30, 0.0172345569619209, -0.0168517697207082],
    [150, 0.0033556543174764, -0.0033407406090646],
  ])('gives the exact variance and bias for %i df', (df, variance, bias) => {
    expect(logSdMoments(df).variance / variance).toBeCloseTo(1, 12);
    expect(logSdMoments(df).bias / bias).toBeCloseTo(1, 11);
  });

  it('has variance π²/8 and bias −(γ + ln 2)/2 for one degree of freedom', () => {
    expect(logSdMoments(1).variance).toBeCloseTo(Math.PI ** 2 / 8, 13);
    expect(logSdMoments(1).bias).toBeCloseTo(-(0.5772156649015329 + Math.LN2) / 2, 13);
  });
});

describe('power', () => {
  it('is alpha when there is no effect', () => {
    expect(tPowerTwoSided(0, 9, 0.05)).toBeCloseTo(0.05, 12);
    expect(tPowerOneSided(0, 9, 0.05)).toBeCloseTo(0.05, 12);
  });

  it('counts both tails: the wrong-sided tail is the difference from one-sided at half alpha', () => {
    const wrongSide = tPowerOneSided(-0.8, 5, 0.05);
    expect(tPowerTwoSided(0.8, 5, 0.1) - tPowerOneSided(0.8, 5, 0.05)).toBeCloseTo(wrongSide, 12);
  });
});
