import {
  bestInRegion,
  bestPlaces,
  Factor,
  gradientStatistic,
  linearLimits,
  quadraticValue,
  type ResponseSurface,
  ridgePath,
  seededUniform,
  standardNormal,
  stationaryRegion,
  steepestPath,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { inventedFit } from './invented-fit.ts';

const only = (truth: (x: Record<string, number>) => number, options = {}) => {
  const { surfaces, factors } = inventedFit({ y: truth }, options);
  return { surface: surfaces[0]!, factors };
};

describe('stationaryRegion', () => {
  it('closes round a clear optimum and holds its place', () => {
    const { surface, factors } = only(
      (x) => (x['level']! - 0.3) ** 2 + 0.8 * (x['screw']! + 0.2) ** 2,
      { sd: 0.05, repeats: 2 },
    );
    const found = stationaryRegion({ surface, factors, seed: 1 });
    if (found.kind !== 'region') throw new Error(found.kind);
    expect(found.isClosed).toBe(true);
    expect(found.statistic(Float64Array.of(0.3, -0.2))).toBeLessThan(1);
    expect(found.statistic(Float64Array.of(-0.8, 0.9))).toBeGreaterThan(1);
    const [level] = found.stretches;
    expect(level!.low).toBeLessThan(0.3);
    expect(level!.high).toBeGreaterThan(0.3);
    expect(found.share).toBeGreaterThan(0);
    expect(found.share).toBeLessThan(0.15);
  });

  it('law: its share is that of a fine grid', () => {
    const { surface, factors } = only((x) => x['level']! ** 2 + x['screw']! ** 2, { sd: 0.15 });
    const found = stationaryRegion({ surface, factors, seed: 1 });
    if (found.kind !== 'region') throw new Error(found.kind);
    let inside = 0;
    for (let i = 0; i < 200; i++)
      for (let j = 0; j < 200; j++)
        if (found.statistic(Float64Array.of(-1 + (i + 0.5) / 100, -1 + (j + 0.5) / 100)) <= 1)
          inside++;
    expect(Math.abs(inside / 40_000 - found.share)).toBeLessThan(0.01);
  });

  it('says that the region runs out of the range when the bend is not clear', () => {
    const { surface, factors } = only((x) => 0.2 * x['level']! ** 2 + 0.2 * x['screw']! ** 2, {
      sd: 0.4,
      seed: 5,
    });
    const found = stationaryRegion({ surface, factors, seed: 1 });
    if (found.kind === 'region') expect(found.isClosed).toBe(false);
    else expect(found.kind).toBe('simulated');
  });

  it('simulates the best place of a saddle and says so', () => {
    const { surface, factors } = only(
      (x) => x['level']! ** 2 - x['screw']! ** 2 + 0.5 * x['screw']!,
      {
        sd: 0.05,
      },
    );
    const found = stationaryRegion({ surface, factors, aim: 'smallest', seed: 1 });
    if (found.kind !== 'simulated') throw new Error(found.kind);
    expect(found.why).toContain('saddle');
    expect(found.onEdge).toBe(1);
    const screw = found.stretches.find(({ factor }) => factor === 'screw')!;
    expect([screw.low, screw.high]).toEqual([-1, -1]);
  });

  it('says when the level point lies beyond what was studied', () => {
    const { surface, factors } = only((x) => (x['level']! - 4) ** 2 + (x['screw']! + 3) ** 2, {
      sd: 0.01,
    });
    const found = stationaryRegion({ surface, factors, seed: 1 });
    expect(found.kind === 'region' && [found.share, found.isClosed, found.stretches]).toEqual([
      0,
      false,
      [],
    ]);
  });

  it('has none without curvature or without a covariance', () => {
    const { surface, factors } = only((x) => x['level']!);
    const flat: ResponseSurface = {
      ...surface,
      terms: surface.terms.slice(0, 3),
      coefficients: surface.coefficients.slice(0, 3),
    };
    expect(stationaryRegion({ surface: flat, factors, seed: 1 }).kind).toBe('none');
    const unjudged = { ...surface, covariance: null, belief: null };
    expect(stationaryRegion({ surface: unjudged, factors, seed: 1 }).kind).toBe('none');
  });

  it('holds the true point in about 95 of 100 studies', () => {
    let held = 0;
    for (let seed = 1; seed <= 300; seed++) {
      const { surface, factors } = only(
        (x) =>
          (x['level']! - 0.2) ** 2 + (x['screw']! + 0.1) ** 2 + 0.5 * x['level']! * x['screw']!,
        { sd: 0.2, seed },
      );
      // Level where 2(x − 0.2) + 0.5y = 0 and 2(y + 0.1) + 0.5x = 0.
      const x = (0.4 * 2 - 0.5 * -0.2) / (4 - 0.25);
      const y = (2 * -0.2 - 0.5 * 0.4) / (4 - 0.25);
      if (gradientStatistic(surface, factors)!(Float64Array.of(x, y)) <= 1) held++;
    }
    // 95 % of 300 within four standard errors of a share.
    expect(Math.abs(held / 300 - 0.95)).toBeLessThan(4 * Math.sqrt((0.95 * 0.05) / 300));
  });
});

describe('bestInRegion', () => {
  it('law: nothing on a fine grid inside the limits is better', () => {
    const factors = ['a', 'b'].map((name) => Factor.parse({ name, low: 0, high: 1 }));
    const limits = linearLimits(factors, [
      { coefficients: { a: 1, b: 1 }, atMost: 0.5, says: 'a + b' },
    ]);
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -2, max: 2, noNaN: true }), { minLength: 5, maxLength: 5 }),
        (c) => {
          const form = {
            constant: 0,
            linear: Float64Array.of(c[0]!, c[1]!),
            quadratic: Float64Array.of(c[2]!, c[3]! / 2, c[3]! / 2, c[4]!),
          };
          const starts = [
            [0, 0],
            [-0.9, -0.9],
            [-0.9, 0.9],
            [0.9, -0.9],
          ].map((at) => Float64Array.from(at));
          const found = bestInRegion(form, limits, { starts, free: [0, 1] })!;
          expect(found.value).toBeCloseTo(quadraticValue(form, found.at), 10);
          expect(found.at[0]! + found.at[1]!).toBeLessThan(0.5 + 1e-8);
          for (let i = 0; i <= 40; i++)
            for (let j = 0; j <= 40; j++) {
              const at = Float64Array.of(-1 + i / 20, -1 + j / 20);
              if (at[0]! + at[1]! > 0.5) continue;
              expect(quadraticValue(form, at)).toBeLessThan(found.value + 1e-6);
            }
        },
      ),
      { seed: 7, numRuns: 60 },
    );
  });

  it('stays inside its limits for every draw', () => {
    const { surface, factors } = only((x) => -x['level']! - x['screw']!, { sd: 0.3 });
    const constraints = [{ coefficients: { level: 1, screw: 1 }, atMost: 0.7, says: 'together' }];
    const found = bestPlaces({ surface, factors, constraints, aim: 'smallest', seed: 3 })!;
    for (const at of found.places) expect(at[0]! + at[1]!).toBeLessThan(0.7 + 1e-8);
  });
});

describe('ridgePath', () => {
  const value = ({ terms, coefficients, row }: ResponseSurface, at: Float64Array) =>
    row(at).reduce((sum, x, j) => sum + x * coefficients[j]!, 0) + 0 * terms.length;

  it.each(['smallest', 'largest'] as const)(
    'law: no other place on the sphere is better (%s), three factors',
    (aim) => {
      for (const seed of [1, 2, 3]) {
        const { surface, factors } = only(
          (x) => x['a']! * x['b']! - 0.7 * x['c']! ** 2 + 0.4 * x['a']! - 0.2 * x['c']!,
          { names: ['a', 'b', 'c'], sd: 0.3, seed },
        );
        const path = ridgePath({ surface, factors, aim, farthest: 2, steps: 4 });
        if (path.kind !== 'path') throw new Error(path.kind);
        const uniform = seededUniform(seed, 'sphere');
        for (const { radius, coded, mean } of path.points) {
          const at = Float64Array.from(factors, ({ name }) => Number(coded[name]));
          expect(Math.hypot(...at)).toBeCloseTo(radius, 9);
          expect(value(surface, at)).toBeCloseTo(mean.value, 10);
          const best = { at, value: mean.value };
          // Local and global tries: small turns about the answer and places all over the sphere.
          for (let i = 0; i < 4000; i++) {
            const spread = i % 2 === 0 ? 1e3 : 0.02;
            const trial = best.at.map((x) => x + spread * radius * standardNormal(uniform));
            const length = Math.hypot(...trial) || 1;
            const other = value(
              surface,
              trial.map((x) => (x * radius) / length),
            );
            const gain = aim === 'largest' ? other - mean.value : mean.value - other;
            expect(gain).toBeLessThan(1e-9 * Math.max(1, Math.abs(mean.value)));
          }
        }
      }
    },
  );

  it('goes along the top eigenvector when the slope has no part in it', () => {
    const { surface, factors } = only((x) => x['level']! ** 2);
    const exact: ResponseSurface = {
      ...surface,
      coefficients: Float64Array.from(surface.terms, (powers) =>
        powers['level'] === 2
          ? 1
          : Object.keys(powers).length === 1 && powers['screw'] === 1
            ? 0.1
            : 0,
      ),
    };
    const path = ridgePath({ surface: exact, factors, aim: 'largest', farthest: 1, steps: 2 });
    if (path.kind !== 'path') throw new Error(path.kind);
    // On |x| = R: x₂ = 0.05, x₁ = √(R² − 0.05²).
    const last = path.points.at(-1)!.coded;
    expect(Number(last['screw'])).toBeCloseTo(0.05, 9);
    expect(Number(last['level'])).toBeCloseTo(Math.sqrt(1 - 0.0025), 9);
  });
});

describe('steepestPath', () => {
  it('follows the slopes and stops at the first broken limit', () => {
    const { surface, factors } = only((x) => 3 * x['level']! - 4 * x['screw']!, { sd: 0.01 });
    const path = steepestPath({
      surface,
      factors,
      aim: 'largest',
      constraints: [{ coefficients: { level: 1 }, atMost: 0.5, says: 'level not above half' }],
    });
    if (path.kind !== 'path') throw new Error(path.kind);
    expect(path.direction['level']).toBeCloseTo(0.6, 2);
    expect(path.direction['screw']).toBeCloseTo(-0.8, 2);
    const last = path.steps.at(-1)!;
    expect(last.broken).toBe('level not above half');
    expect(path.steps.slice(0, -1).every(({ broken }) => broken === null)).toBe(true);
    expect(path.shareOfDirections).toBeLessThan(0.01);
  });

  it('law: the share of directions is that of random ones inside the cone', () => {
    const { surface, factors } = only((x) => 0.15 * x['a']! + 0.1 * x['b']!, {
      names: ['a', 'b', 'c'],
      sd: 0.3,
      seed: 3,
    });
    const path = steepestPath({ surface, factors, aim: 'largest' });
    if (path.kind !== 'path') throw new Error(path.kind);
    const slopes = Float64Array.from(factors, ({ name }) => path.direction[name]!);
    // A direction u is kept when Σ(b − (b·u)u)² ≤ (k − 1)s²F: cos² of its angle at least 1 − that/Σb².
    const uniform = seededUniform(2, 'directions');
    const j = surface.terms.findIndex(
      (powers) => Object.keys(powers).length === 1 && powers['a'] === 1,
    );
    const p = surface.terms.length;
    const s2 = surface.covariance![j * p + j]!;
    const b2 = ['a', 'b', 'c'].reduce((sum, name) => {
      const at = surface.terms.findIndex((q) => Object.keys(q).length === 1 && q[name] === 1);
      return sum + surface.coefficients[at]! ** 2;
    }, 0);
    // Upper 5 % point of F on 2 and 8 df is 4.458970 (tabulated in the NIST/SEMATECH e-Handbook as 4.459).
    expect(surface.df).toBe(8);
    const cut = 1 - (2 * s2 * 4.45897) / b2;
    let inside = 0;
    for (let i = 0; i < 40_000; i++) {
      const u = slopes.map(() => standardNormal(uniform));
      const cosine = u.reduce((sum, x, q) => sum + x * slopes[q]!, 0) / Math.hypot(...u);
      if (cut <= 0 || (cosine > 0 && cosine * cosine >= cut)) inside++;
    }
    expect(Math.abs(inside / 40_000 - path.shareOfDirections!)).toBeLessThan(0.01);
  });

  it('has no path without slopes', () => {
    const { surface, factors } = only((x) => x['level']!);
    const flat = { ...surface, coefficients: new Float64Array(surface.terms.length) };
    expect(steepestPath({ surface: flat, factors, aim: 'largest' }).kind).toBe('no-slope');
  });
});
