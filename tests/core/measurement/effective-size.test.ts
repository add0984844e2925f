import {
  autocorrelations,
  correlationTimes,
  logSdMoments,
  sampleSd,
  spreadOf,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { autoregressive, average, normalSource, varianceOf } from './noise.ts';

/** Closed forms for first-order noise: n(1−φ)/(1+φ) for the mean, n(1−φ²)/(1+φ²) for the variance. */
const forMean = (n: number, phi: number): number => (n * (1 - phi)) / (1 + phi);
const forVariance = (n: number, phi: number): number => (n * (1 - phi * phi)) / (1 + phi * phi);

describe('autocorrelations', () => {
  it('gives the textbook values of 1, 2, 3, 4, 5: 1, 0.4, −0.1, −0.4, −0.4', () => {
    // Derived by hand with divisor n: d = −2 … 2, Σd² = 10, lag 1: 4, lag 2: −1, lag 3: −4, lag 4: −4.
    const rho = autocorrelations(Float64Array.of(1, 2, 3, 4, 5), 4);
    for (const [k, expected] of [1, 0.4, -0.1, -0.4, -0.4].entries()) {
      expect(rho[k]).toBeCloseTo(expected, 14);
    }
  });

  it('gives φᵏ for first-order noise', () => {
    const rho = autocorrelations(autoregressive(200_000, 0.8, normalSource(2)), 3);
    for (const k of [1, 2, 3]) expect(Math.abs(rho[k]! - 0.8 ** k)).toBeLessThan(0.01);
  });

  it('throws no_spread on a constant column', () => {
    expect(() =>
      autocorrelations(new Float64Array(9).fill(2), 2),
    ).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: autocorrelations: the column must vary; got 2 throughout. Check that the gauge is not stuck.]`,
    );
  });
});

describe('correlationTimes', () => {
  it.each([0, 0.3, 0.6, 0.8, 0.9])('comes to the closed forms on a long log, φ = %s', (phi) => {
    const n = 100_000;
    const times = correlationTimes(autoregressive(n, phi, normalSource(11)));
    expect(times.forMean / (n / forMean(n, phi))).toBeGreaterThan(0.88);
    expect(times.forMean / (n / forMean(n, phi))).toBeLessThan(1.12);
    expect(times.forVariance / (n / forVariance(n, phi))).toBeGreaterThan(0.93);
    expect(times.forVariance / (n / forVariance(n, phi))).toBeLessThan(1.07);
  });

  it.each([
    [0.6, 141],
    [0.8, 66],
    [0.9, 31],
  ])('averages to the closed form for the variance at n = 300, φ = %s', (phi, expected) => {
    const normal = normalSource(7);
    const sizes = Array.from(
      { length: 300 },
      () => 300 / correlationTimes(autoregressive(300, phi, normal)).forVariance,
    );
    expect(Math.round(forVariance(300, phi))).toBe(expected);
    const error = Math.sqrt(varianceOf(sizes) / 300);
    // Estimating Σρ² from 300 readings leaves a bias of some percent beside the Monte-Carlo error.
    expect(Math.abs(average(sizes) - expected)).toBeLessThan(0.07 * expected + 3 * error);
  });
});

describe('spreadOf', () => {
  it.each([0, 0.6, 0.8, 0.9])('tells the sampling variance of ln s, φ = %s, n = 600', (phi) => {
    const normal = normalSource(31);
    const repeats = 600;
    const logs = Array.from({ length: repeats }, () => autoregressive(600, phi, normal));
    const observed = varianceOf(logs.map((x) => Math.log(sampleSd(x))));
    const told = average(logs.map((x) => spreadOf(x, 1, 0)!.lnSdVariance));
    // The variance of 600 values is itself known to √(2/600) = 5.8 %; three of those, and the bias.
    expect(told / observed).toBeGreaterThan(0.82);
    expect(told / observed).toBeLessThan(1.25);
  });

  it('counts a steady surge in s but hardly in its uncertainty', () => {
    const normal = normalSource(41);
    const wave = (phase: number, amplitude: number): Float64Array =>
      autoregressive(300, 0.6, normal).map(
        (v, i) => v + amplitude * Math.sin((2 * Math.PI * i) / 12 + phase),
      );
    const logs = Array.from({ length: 600 }, (_, r) => wave(r, 3));
    const observed = varianceOf(logs.map((x) => Math.log(sampleSd(x))));
    const told = average(logs.map((x) => spreadOf(x, 1, 5)!.lnSdVariance));
    const naive = average(logs.map((x) => spreadOf(x, 1, 0)!.lnSdVariance));
    expect(told / observed).toBeGreaterThan(0.8);
    expect(told / observed).toBeLessThan(1.6);
    expect(naive / observed).toBeGreaterThan(5);
  });

  it('uses ψ′(ν/2)/4: white noise of 31 readings with the cap at ν = 30 gives 0.0172', () => {
    // Bartlett & Kendall (1946), first moments of ln χ² (from memory): Var ln s at ν = 30 is 0.0172.
    expect(logSdMoments(30).variance).toBeCloseTo(0.0172, 4);
    const x = Float64Array.from({ length: 31 }, (_, i) => (i % 2 === 0 ? 1 : -1));
    expect(spreadOf(x, 1, 0)!.lnSdVariance).toBeGreaterThanOrEqual(logSdMoments(30).variance);
  });

  it('gives undefined when the gauge never moved', () => {
    expect(spreadOf(new Float64Array(60).fill(1.75), 1, 5)).toBeUndefined();
  });

  it('never claims more readings than there are', () => {
    const normal = normalSource(3);
    for (let r = 0; r < 50; r++) {
      const spread = spreadOf(autoregressive(100, -0.7, normal), 1, 5)!;
      expect(spread.effectiveNForMean).toBeLessThanOrEqual(100);
      expect(spread.effectiveNForVariance).toBeLessThanOrEqual(100);
    }
  });
});
