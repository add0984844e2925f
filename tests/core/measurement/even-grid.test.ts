import { evenlySpaced, usualStepSeconds } from '@strandwise/core';
import { describe, expect, it } from 'vitest';

describe('evenlySpaced', () => {
  it('bridges three seconds by the last value and leaves a longer silence open', () => {
    const { values } = evenlySpaced(
      Float64Array.of(0, 1, 2, 5, 6, 12),
      Float64Array.of(1, 2, 3, 4, 5, 6),
      1,
    );
    expect([...values]).toEqual([1, 2, 3, 3, 3, 4, 5, 5, 5, 5, Number.NaN, Number.NaN, 6]);
  });

  it('takes a reading that comes late by less than half a step at its own time', () => {
    const seconds = Float64Array.of(0, 1.02, 1.98, 3.03, 4.01);
    expect([...evenlySpaced(seconds, Float64Array.of(1, 2, 3, 4, 5), 1).values]).toEqual([
      1, 2, 3, 4, 5,
    ]);
  });

  it('carries over a missing value for three seconds only', () => {
    const n = Number.NaN;
    const { values } = evenlySpaced(
      Float64Array.of(0, 1, 2, 3, 4, 5),
      Float64Array.of(1, n, n, n, n, 2),
      1,
    );
    expect([...values]).toEqual([1, 1, 1, 1, n, 2]);
  });

  it('refuses a log that is nearly all silence', () => {
    const seconds = Float64Array.from({ length: 50 }, (_, i) => (i < 25 ? i : 1e9 + i));
    expect(() => evenlySpaced(seconds, seconds)).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: evenlySpaced: the stretch must hold readings most of the time; got 50 readings for 1000000050 steps of 1 s. Cut the stretch at the long silence.]`,
    );
  });
});

describe('usualStepSeconds', () => {
  it('is the median step, and the mean where stamps say whole seconds only', () => {
    expect(usualStepSeconds(Float64Array.of(0, 1, 2, 9, 10))).toBe(1);
    expect(usualStepSeconds(Float64Array.from({ length: 101 }, (_, i) => Math.floor(i / 10)))).toBe(
      0.1,
    );
  });

  it('throws too_few_values when no time passes', () => {
    expect(() => usualStepSeconds(Float64Array.of(3, 3, 3))).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: usualStepSeconds: the log must hold two readings at different times; got 3 over 0 s. Take a longer stretch.]`,
    );
  });
});
