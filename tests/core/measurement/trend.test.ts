import { trendOf } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { autoregressive, average, normalSource, varianceOf } from './noise.ts';

describe('trendOf', () => {
  it('gives the slope of a straight line a minute', () => {
    const x = Float64Array.from({ length: 100 }, (_, i) => 1.75 + 0.001 * i);
    const trend = trendOf(x, 2);
    expect(trend.perMinute).toBeCloseTo(0.03, 12);
    expect(trend.standardErrorPerMinute).toBeLessThan(1e-9);
  });

  it.each([0, 0.6, 0.8])(
    'has a standard error that the slopes of clean logs bear out, φ = %s',
    (phi) => {
      const normal = normalSource(17);
      const trends = Array.from({ length: 500 }, () =>
        trendOf(autoregressive(600, phi, normal), 1),
      );
      const observed = Math.sqrt(varianceOf(trends.map((t) => t.perMinute)));
      const told = average(trends.map((t) => t.standardErrorPerMinute));
      expect(told / observed).toBeGreaterThan(0.85);
      expect(told / observed).toBeLessThan(1.12);
    },
  );
});
