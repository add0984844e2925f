import {
  assurance,
  conformanceModel,
  type JudgedRequirement,
  keepingProbability,
  type ResidualCorrelation,
  type SetUpWander,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { inventedFit } from '../core/surface/invented-fit.ts';

const { surfaces } = inventedFit(
  {
    sd: (x) => 0.5 * x['level']! ** 2 - 0.2 * x['screw']!,
    gel: (x) => 0.4 * x['screw']!,
  },
  { sd: 0.15, seed: 3 },
);
const judgedAt = (limits: readonly number[]): JudgedRequirement[] =>
  surfaces.map((surface, i) => ({
    surface,
    requirement: { response: surface.name, atMost: limits[i]!, says: surface.name },
  }));
const correlated = (rho: number, names = ['sd', 'gel']): ResidualCorrelation => {
  const matrix = Float64Array.of(1, rho, rho, 1);
  return { names, matrix, lower: matrix, pairs: [] };
};
const wander: SetUpWander = {
  axes: [{ name: 'screw', within: 0.1, unit: 'rpm', shift: Float64Array.of(0.03, 0.1) }],
};
const coordinate = fc.integer({ min: -100, max: 100 }).map((value) => value / 100);
const limit = fc.integer({ min: -80, max: 120 }).map((value) => value / 100);
const place = fc.tuple(coordinate, coordinate).map((at) => Float64Array.from(at));
const rho = fc.integer({ min: -9, max: 9 }).map((value) => value / 10);

describe('chance of conforming', () => {
  it('law: a looser limit never lowers it', () => {
    fc.assert(
      fc.property(
        place,
        limit,
        limit,
        fc.integer({ min: 1, max: 50 }),
        rho,
        (at, a, b, more, r) => {
          const of = (first: number) =>
            conformanceModel({
              judged: judgedAt([first, b]),
              correlation: correlated(r),
              wander,
              seed: 1,
            }).at(at);
          const [tight, loose] = [of(a), of(a + more / 100)];
          expect(loose.probability).toBeGreaterThanOrEqual(
            tight.probability - 4 * (tight.error + loose.error) - 1e-9,
          );
        },
      ),
      { seed: 11, numRuns: 60 },
    );
  });

  it('law: it lies between the bounds that hold for any dependence', () => {
    fc.assert(
      fc.property(place, limit, limit, rho, (at, a, b, r) => {
        const judged = judgedAt([a, b]);
        const { probability, error } = conformanceModel({
          judged,
          correlation: correlated(r),
          seed: 1,
        }).at(at);
        const alone = judged.map((each) => keepingProbability(each, at)!);
        const room = 4 * error + 1e-6;
        expect(probability).toBeLessThan(Math.min(...alone) + room);
        expect(probability).toBeGreaterThan(alone[0]! + alone[1]! - 1 - room);
      }),
      { seed: 12, numRuns: 80 },
    );
  });

  it('law: the order of the requirements does not matter, and positive correlation helps', () => {
    fc.assert(
      fc.property(place, limit, limit, fc.integer({ min: 1, max: 9 }), (at, a, b, tenths) => {
        const judged = judgedAt([a, b]);
        const of = (list: JudgedRequirement[], r: number) =>
          conformanceModel({ judged: list, correlation: correlated(r), seed: 1 }).at(at);
        const r = tenths / 10;
        const [one, other, apart] = [of(judged, r), of([...judged].reverse(), r), of(judged, 0)];
        const room = 4 * (one.error + other.error) + 1e-6;
        expect(Math.abs(one.probability - other.probability)).toBeLessThan(room);
        expect(one.probability).toBeGreaterThan(apart.probability - room);
      }),
      { seed: 13, numRuns: 60 },
    );
  });

  it('law: what can be promised is not above what is told, nor below for less confidence', () => {
    fc.assert(
      fc.property(place, limit, limit, (at, a, b) => {
        const { parts } = conformanceModel({ judged: judgedAt([a, b]), seed: 1 });
        const sure = (confidence: number) =>
          assurance(parts, { seed: 1, confidence, draws: 256 })(at);
        const [half, most] = [sure(0.5), sure(0.95)];
        expect(most.notBelow).toBeLessThanOrEqual(half.notBelow + 1e-12);
        expect(most.notAbove).toBeGreaterThanOrEqual(half.notAbove - 1e-12);
        expect(half.notBelow).toBe(half.median);
      }),
      { seed: 14, numRuns: 40 },
    );
  });
});
