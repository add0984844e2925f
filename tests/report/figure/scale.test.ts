import { linearScale, logScale, logTicks, niceTicks, roomyScale } from '@strandwise/report';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { spreadLabels } from '../../../packages/report/src/figure/spread-labels.ts';

describe('niceTicks', () => {
  it('steps by 1, 2 or 5 and writes the digits the step needs', () => {
    expect(niceTicks(185, 205, 4).map(({ label }) => label)).toEqual([
      '185',
      '190',
      '195',
      '200',
      '205',
    ]);
    expect(niceTicks(-0.31, 0.29, 6).map(({ label }) => label)).toEqual([
      '−0.3',
      '−0.2',
      '−0.1',
      '0.0',
      '0.1',
      '0.2',
    ]);
    expect(niceTicks(1.72, 1.78, 3).map(({ label }) => label)).toEqual([
      '1.72',
      '1.74',
      '1.76',
      '1.78',
    ]);
  });

  it('gives one tick where the ends differ by rounding alone', () => {
    const low = 6.4;
    expect(niceTicks(low, low + 9e-16, 7)).toHaveLength(1);
    const scale = roomyScale({ low, high: low + 9e-16, from: 0, to: 100 });
    expect(scale.ticks.length).toBeLessThan(12);
    expect(scale.high - scale.low).toBeGreaterThan(0.1);
  });

  it('law: ticks rise evenly inside the range, any range', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e6, max: 1e6, noNaN: true }),
        fc.double({ min: 1e-3, max: 1e6, noNaN: true }),
        fc.integer({ min: 2, max: 12 }),
        (low, span, count) => {
          const ticks = niceTicks(low, low + span, count).map(({ value }) => value);
          const room = 1e-6 * (Math.abs(low) + span);
          expect(ticks.length).toBeGreaterThanOrEqual(1);
          expect(ticks.length).toBeLessThanOrEqual(count + 1);
          for (const value of ticks) {
            expect(value).toBeGreaterThanOrEqual(low - room);
            expect(value).toBeLessThanOrEqual(low + span + room);
          }
        },
      ),
      { seed: 20, numRuns: 300 },
    );
  });
});

describe('linearScale', () => {
  it('maps the ends to the ends', () => {
    const scale = linearScale({ low: 10, high: 20, from: 100, to: 0 });
    expect([scale.at(10), scale.at(15), scale.at(20)]).toEqual([100, 50, 0]);
  });

  it('opens a range of no width', () => {
    const scale = linearScale({ low: 3, high: 3, from: 0, to: 100 });
    expect(scale.at(3)).toBe(50);
  });
});

describe('roomyScale', () => {
  it('moves the ends out to ticks', () => {
    const { low, high } = roomyScale({ low: 0.3, high: 9.2, from: 0, to: 1 });
    expect([low, high]).toEqual([0, 10]);
  });
});

describe('logScale', () => {
  it('puts the geometric mean half-way', () => {
    expect(logScale({ low: 1, high: 100, from: 0, to: 10 }).at(10)).toBeCloseTo(5, 12);
  });

  it('ticks 1, 2, 5 within two decades and 1 alone beyond', () => {
    expect(logTicks(1, 50).map(({ label }) => label)).toEqual(['1', '2', '5', '10', '20', '50']);
    expect(logTicks(0.01, 100).map(({ label }) => label)).toEqual([
      '0.01',
      '0.1',
      '1',
      '10',
      '100',
    ]);
  });
});

describe('spreadLabels', () => {
  it('moves labels apart and keeps their order', () => {
    const out = spreadLabels([50, 52, 51], 16);
    expect(out[2]! - out[0]!).toBeGreaterThanOrEqual(15.9);
    expect(out[1]! - out[2]!).toBeGreaterThanOrEqual(15.9);
    expect(spreadLabels([10, 40], 16)).toEqual([10, 40]);
  });
});
