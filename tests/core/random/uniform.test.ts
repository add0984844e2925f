import { seededUniform, shuffled } from '@strandwise/core';
import { describe, expect, it } from 'vitest';

describe('seededUniform', () => {
  it('gives unrelated first numbers for neighbouring seeds', () => {
    const first = Array.from({ length: 2000 }, (_, seed) => seededUniform(seed, 'run order')());
    const mean = first.reduce((sum, value) => sum + value, 0) / first.length;
    // Mean 1/2 and variance 1/12 of 2000 independent uniforms, to four standard errors.
    expect(Math.abs(mean - 0.5)).toBeLessThan(4 * Math.sqrt(1 / 12 / 2000));
    const variance = first.reduce((sum, value) => sum + (value - mean) ** 2, 0) / first.length;
    expect(Math.abs(variance - 1 / 12)).toBeLessThan(4 * Math.sqrt(1 / 180 / 2000));
    let lagged = 0;
    for (let i = 1; i < first.length; i++) lagged += (first[i - 1]! - 0.5) * (first[i]! - 0.5);
    expect(Math.abs((12 * lagged) / first.length)).toBeLessThan(4 / Math.sqrt(2000));
  });

  it('reaches every order of six runs from small seeds', () => {
    const orders = new Set<string>();
    for (let seed = 0; seed < 9000; seed++) {
      orders.add(shuffled([0, 1, 2, 3, 4, 5], seededUniform(seed)).join(''));
    }
    expect(orders.size).toBe(720);
  });

  it('repeats for the same seed and stream, differs between streams', () => {
    const draw = (seed: number, stream: string) => {
      const uniform = seededUniform(seed, stream);
      return [uniform(), uniform(), uniform()];
    };
    expect(draw(3, 'a')).toEqual(draw(3, 'a'));
    expect(draw(3, 'a')).not.toEqual(draw(3, 'b'));
    expect(draw(3, 'a')).not.toEqual(draw(4, 'a'));
  });
});
