import {
  type Factor,
  fitTable,
  gradientStatistic,
  modelTerms,
  responseSurface,
  ridgePath,
  Spec,
  stationaryRegion,
  termName,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { column, dataTable, expectClose } from './dataset.ts';

/** Yield of the chemical process (see datasets/chemical-process/SOURCE.md), fitted in coded units. */
function chemicalYield() {
  const table = dataTable('chemical-process');
  const spec = Spec.parse({
    factors: [
      { name: 'x1', low: -1, high: 1 },
      { name: 'x2', low: -1, high: 1 },
    ],
    responses: [{ name: 'yield', kind: 'continuous' }],
    model: 'quadratic',
  });
  const columns = Object.fromEntries(
    ['x1', 'x2', 'yield'].map((name) => [name, Array.from(column(table, name))]),
  );
  const fit = fitTable({ spec, table: columns, units: 'coded' }).responses[0]!;
  return { fit, surface: responseSurface(fit, spec.factors)!, factors: spec.factors };
}

describe('confidence region of the stationary point', () => {
  const { fit, surface, factors } = chemicalYield();

  /** The formula of Box & Hunter (1954) written out for two factors. */
  function direct(x1: number, x2: number): number {
    const names = fit.terms.map(({ name }) => name);
    const at = (name: string) => names.indexOf(name);
    const b = (name: string) => fit.terms[at(name)]!.estimate;
    const d1 = b('x1') + 2 * b('x1²') * x1 + b('x1 × x2') * x2;
    const d2 = b('x2') + 2 * b('x2²') * x2 + b('x1 × x2') * x1;
    const weights = (own: string, value: number, other: number) =>
      names.map((name) =>
        name === own ? 1 : name === `${own}²` ? 2 * value : name === 'x1 × x2' ? other : 0,
      );
    const w1 = weights('x1', x1, x2);
    const w2 = weights('x2', x2, x1);
    const covariance = (u: number[], v: number[]) =>
      u.reduce(
        (sum, a, i) => sum + v.reduce((s, c, j) => s + a * fit.covariance![i]![j]! * c, 0),
        0,
      );
    const v11 = covariance(w1, w1);
    const v12 = covariance(w1, w2);
    const v22 = covariance(w2, w2);
    const quadratic = (d1 * d1 * v22 - 2 * d1 * d2 * v12 + d2 * d2 * v11) / (v11 * v22 - v12 * v12);
    // F(0.95; 2, 7) = 4.737414, NIST/SEMATECH e-Handbook table 1.3.6.7.3 prints 4.737.
    return quadratic / (2 * 4.737414);
  }

  it('matches the formula written out', () => {
    expect(fit.terms.map(({ name }) => name).sort()).toEqual(
      modelTerms('quadratic', factors as Factor[])
        .map(termName)
        .sort(),
    );
    expect(surface.df).toBe(7);
    const statistic = gradientStatistic(surface, factors)!;
    for (const [x1, x2] of [
      [0, 0],
      [0.389, 0.306],
      [0.6, 0.1],
      [-0.5, 0.9],
      [1.2, -1],
    ] as const)
      expectClose(statistic(Float64Array.of(x1, x2)), direct(x1, x2), 1e-6, `at ${x1}, ${x2}`);
  });

  it('is closed round the published maximum', () => {
    const region = stationaryRegion({ surface, factors, aim: 'largest', seed: 1 });
    if (region.kind !== 'region') throw new Error(region.kind);
    expect(region.isClosed).toBe(true);
    expect(region.statistic(Float64Array.of(0.389, 0.306))).toBeLessThan(1e-3);
    for (const [i, published] of [0.389, 0.306].entries()) {
      expect(region.stretches[i]!.low).toBeLessThan(published);
      expect(region.stretches[i]!.high).toBeGreaterThan(published);
    }
  });
});

describe('ridge path of a published surface', () => {
  it('passes through the maximum of yield and matches a search round each circle', () => {
    const { surface, factors } = chemicalYield();
    const radius = Math.hypot(0.38923, 0.30585);
    const path = ridgePath({ surface, factors, aim: 'largest', farthest: 2 * radius, steps: 2 });
    if (path.kind !== 'path') throw new Error(path.kind);
    const middle = path.points[1]!;
    // The published place has three decimals.
    expect(Number(middle.coded['x1'])).toBeCloseTo(0.389, 2);
    expect(Number(middle.coded['x2'])).toBeCloseTo(0.306, 2);
    expect(middle.mean.value.toFixed(2)).toBe('80.21');
    for (const point of path.points) {
      let best = Number.NEGATIVE_INFINITY;
      for (let i = 0; i < 20_000; i++) {
        const angle = (2 * Math.PI * i) / 20_000;
        best = Math.max(
          best,
          surface.mean(
            Float64Array.of(point.radius * Math.cos(angle), point.radius * Math.sin(angle)),
          ),
        );
      }
      expectClose(point.mean.value, best, 1e-8, `radius ${point.radius}`);
    }
  });
});
