import {
  Factor,
  linearLimits,
  nonDominated,
  predictorOf,
  tradeOff,
  tradeOffFront,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { fitsOf, inventedStudy } from '../recipe/invented-study.ts';

const factors = ['a', 'b', 'c'].map((name) => Factor.parse({ name, low: 0, high: 1 }));
const limits = linearLimits(factors, []);
const distance = (x: Float64Array, to: readonly number[]): number =>
  to.reduce((sum, t, i) => sum + (x[i]! - t) ** 2, 0);

describe('tradeOffFront', () => {
  it('lies on the segment between two optima of equal circles, from end to end', () => {
    const ends = [
      [-0.5, 0, 0.2],
      [0.5, 0.4, -0.2],
    ] as const;
    const front = tradeOffFront({
      objectives: ends.map((end, i) => ({
        name: `y${i}`,
        aim: 'smallest' as const,
        value: (x: Float64Array) => distance(x, end),
      })),
      factors,
      limits,
      seed: 1,
    });
    expect(front.length).toBeGreaterThan(20);
    const length = Math.sqrt(distance(Float64Array.from(ends[0]), ends[1]));
    for (const { settings } of front) {
      // Foot of the perpendicular on the line through both ends.
      const along = ends[1].map((v, i) => (v - ends[0][i]!) / length);
      const t = along.reduce((sum, d, i) => sum + d * (settings[i]! - ends[0][i]!), 0);
      const foot = along.map((d, i) => ends[0][i]! + t * d);
      expect(Math.sqrt(distance(settings, foot))).toBeLessThan(0.06);
      expect(t).toBeGreaterThan(-0.03);
      expect(t).toBeLessThan(length + 0.03);
    }
    expect(front[0]!.values[0]).toBeLessThan(0.003);
    expect(front.at(-1)!.values[1]).toBeLessThan(0.003);
  });

  it('law: no place betters another in every objective, and limits are kept', () => {
    const cut = linearLimits(factors, [{ coefficients: { a: 1, b: 1 }, atMost: 0.3, says: '' }]);
    const front = tradeOffFront({
      objectives: [
        { name: 'p', aim: 'smallest', value: (x) => x[0]! ** 2 - x[1]! },
        { name: 'q', aim: 'largest', value: (x) => x[0]! + 0.2 * x[2]! },
        { name: 'r', aim: 'smallest', value: (x) => (x[2]! - 0.5) ** 2 + x[1]! },
      ],
      factors,
      limits: cut,
      seed: 2,
    });
    for (const one of front) {
      expect(one.settings[0]! + one.settings[1]!).toBeLessThan(0.3 + 1e-9);
      for (const other of front) {
        if (one === other) continue;
        const [a, b] = [one.values, other.values];
        expect(b[0]! <= a[0]! && b[1]! >= a[1]! && b[2]! <= a[2]!).toBe(false);
      }
    }
  });

  it('keeps the first of equals', () => {
    const place = (value: number) => ({
      settings: new Float64Array(1),
      values: Float64Array.of(value, 1),
    });
    const [first, second] = [place(1), place(1)];
    expect(nonDominated([first, second], [1, 1])).toEqual([first]);
  });
});

describe('tradeOff', () => {
  it('trades bubbles for spread over a study', () => {
    const state = inventedStudy({
      lnSd: (x) => Math.log(0.01) - 0.4 * x['level']!,
      lnBubbles: (x) => 0.6 * x['level']!,
      sd: 0.03,
    });
    const found = tradeOff(predictorOf(state, fitsOf(state)))!;
    expect(found.responses.map(({ name }) => name)).toEqual(['SD of diameter', 'bubbles']);
    const [first, last] = [found.points[0]!, found.points.at(-1)!];
    expect(Number(first.natural['level'])).toBeGreaterThan(203);
    expect(Number(last.natural['level'])).toBeLessThan(188);
    expect(first.values['bubbles']!).toBeGreaterThan(last.values['bubbles']!);
    expect(found.says).toMatch(/settings that nothing betters/);
  });

  it('has nothing to trade with one response', () => {
    const state = inventedStudy({ lnBubbles: null });
    expect(tradeOff(predictorOf(state, fitsOf(state)))).toBeNull();
  });
});
