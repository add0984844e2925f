import {
  brokenConstraints,
  type Design,
  DomainError,
  designOf,
  type LinearConstraint,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { codedRows, sampleFactors } from './sample-factors.ts';

const spread = (
  k: number,
  runs: number,
  { seed = 1, constraints = [] as readonly LinearConstraint[] } = {},
): Design =>
  designOf({
    factors: sampleFactors(k),
    model: 'main',
    family: 'space filling',
    options: { runs },
    seed,
    constraints,
  });

const closest = (rows: readonly (readonly number[])[]): number =>
  Math.min(
    ...rows.flatMap((a, i) =>
      rows.slice(i + 1).map((b) => Math.hypot(...a.map((x, j) => x - b[j]!))),
    ),
  );

const below = (a: string, b: string, atMost: number): LinearConstraint => ({
  coefficients: { [a]: 1, [b]: 1 },
  atMost,
  says: `${a} and ${b}`,
});

describe('space filling', () => {
  it('law: without limits every factor takes each of n equal steps once', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 6 }),
        fc.integer({ min: 4, max: 20 }),
        fc.integer({ min: 0, max: 1000 }),
        (k, n, seed) => {
          const rows = codedRows(spread(k, n, { seed }));
          for (let j = 0; j < k; j++) {
            const values = rows.map((row) => row[j]!).sort((a, b) => a - b);
            for (const [i, value] of values.entries()) {
              expect(value).toBeCloseTo((2 * i) / (n - 1) - 1, 12);
            }
          }
        },
      ),
      { seed: 9, numRuns: 15 },
    );
  });

  it('reaches the largest smallest distance that 2 × 5 steps allow', () => {
    // All 120 pairings of 5 steps with 5 steps, by hand: the best closest pair is √5/2 apart.
    const steps = [-1, -0.5, 0, 0.5, 1];
    const permutations = (items: readonly number[]): number[][] =>
      items.length === 0
        ? [[]]
        : items.flatMap((item) =>
            permutations(items.filter((other) => other !== item)).map((rest) => [item, ...rest]),
          );
    const best = Math.max(
      ...permutations(steps).map((order) => closest(steps.map((x, i) => [x, order[i]!]))),
    );
    expect(closest(codedRows(spread(2, 5)))).toBeCloseTo(best, 12);
  });

  it('spreads better than cyclic pairings of the same steps', () => {
    const cyclic = [1, 2, 3, 4, 5].map((shift) =>
      closest(
        Array.from({ length: 16 }, (_, i) =>
          [1, 3, 5].map((factor) => (2 * ((i * factor + shift * factor * factor) % 16)) / 15 - 1),
        ),
      ),
    );
    expect(closest(codedRows(spread(3, 16)))).toBeGreaterThan(Math.max(...cyclic));
  });

  it('law: every run respects the limits and factors take different values', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 5 }),
        fc.double({ min: -1, max: 1, noNaN: true }),
        fc.integer({ min: 0, max: 99 }),
        (k, atMost, seed) => {
          const constraints = [below('factor 1', 'factor 2', atMost)];
          const design = spread(k, 12, { seed, constraints });
          for (const { coded } of design.runs) {
            expect(brokenConstraints(coded, constraints)).toEqual([]);
            for (const value of Object.values(coded))
              expect(Math.abs(Number(value))).toBeLessThanOrEqual(1);
          }
          expect(closest(codedRows(design))).toBeGreaterThan(0.05);
        },
      ),
      { seed: 6, numRuns: 12 },
    );
  });

  it('repeats for a seed and differs between seeds', () => {
    expect(codedRows(spread(3, 10, { seed: 5 }))).toEqual(codedRows(spread(3, 10, { seed: 5 })));
    expect(codedRows(spread(3, 10, { seed: 5 }))).not.toEqual(
      codedRows(spread(3, 10, { seed: 6 })),
    );
  });

  it.each([
    ['empty_region', [below('factor 1', 'factor 2', -3)]],
    ['thin_region', [below('factor 1', 'factor 2', -2)]],
    [
      'thin_region',
      [
        below('factor 1', 'factor 2', 0),
        { coefficients: { 'factor 1': -1, 'factor 2': -1 }, atMost: 0, says: 'equal' },
      ],
    ],
    ['unknown_factor', [below('factor 1', 'factor 8', 0)]],
  ] as const)('throws %s', (code, constraints) => {
    let got = 'nothing thrown';
    try {
      spread(2, 8, { constraints });
    } catch (error) {
      got = error instanceof DomainError ? error.code : String(error);
    }
    expect(got).toBe(code);
  });
});
