import {
  bestJointDesirability,
  type DomainError,
  desirability,
  Factor,
  jointDesirability,
  modelTerms,
  nearestFeasible,
  polynomial,
  stationaryPoint,
  termName,
  termValue,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const factors = (names: string): Factor[] =>
  [...names].map((name) => Factor.parse({ name, low: 0, high: 10 }));

/** Coefficients of a two-factor quadratic by the names of its terms. */
function quadratic(values: Record<string, number>) {
  const list = factors('ab');
  const terms = modelTerms('quadratic', list);
  return {
    list,
    terms,
    coefficients: Float64Array.from(terms, (powers) => values[termName(powers)] ?? 0),
  };
}

describe('stationaryPoint', () => {
  const natureOf = (values: Record<string, number>) => {
    const { list, terms, coefficients } = quadratic(values);
    const found = stationaryPoint(terms, coefficients, list);
    return found.kind === 'found' ? found : null;
  };

  it('names maximum, minimum and saddle and says where', () => {
    // −(a − 0.5)² − 2(b + 0.25)²: top at (0.5, −0.25).
    const top = natureOf({ a: 1, b: -1, 'a²': -1, 'b²': -2 })!;
    expect([top.nature, top.coded, top.natural]).toEqual([
      'maximum',
      { a: 0.5, b: -0.25 },
      { a: 7.5, b: 3.75 },
    ]);
    expect(top.value).toBeCloseTo(0.25 + 0.125, 14);
    expect(natureOf({ a: 1, 'a²': 1, 'b²': 2 })!.nature).toBe('minimum');
    expect(natureOf({ 'a × b': 1, 'a²': 0.1 })!.nature).toBe('saddle');
  });

  it('names a stationary ridge when the level line crosses the region', () => {
    // −(a + b)²: level along a = −b.
    const found = natureOf({ 'a²': -1, 'b²': -1, 'a × b': -2 })!;
    expect([found.nature, found.isInside]).toEqual(['stationary ridge', true]);
    expect(found.eigenvalues[1]).toBeCloseTo(-2, 12);
  });

  it('names a rising ridge that is level nowhere, and one level far away', () => {
    const exact = natureOf({ 'a²': -1, 'b²': -1, 'a × b': -2, a: 1, b: -1 })!;
    expect([exact.nature, exact.coded]).toEqual(['rising ridge', null]);
    const far = natureOf({ 'a²': -1, 'b²': -0.01, b: 1 })!;
    expect(far.nature).toBe('rising ridge');
    expect(far.coded!['b']).toBeCloseTo(50, 10);
  });

  it('has none without squares and refuses cubes by name', () => {
    const { list, terms, coefficients } = quadratic({ a: 1, 'a × b': 2 });
    expect(stationaryPoint(terms.slice(0, 4), coefficients.slice(0, 4), list).kind).toBe(
      'no-curvature',
    );
    expect(stationaryPoint(terms, new Float64Array(6), list).kind).toBe('no-curvature');
    expect(stationaryPoint([{}, { a: 3 }], Float64Array.of(1, 1), list)).toEqual({
      kind: 'not-quadratic',
      terms: [{ a: 3 }],
    });
  });

  it('averages over named levels', () => {
    const list = [...factors('a'), Factor.parse({ name: 'nozzle', levels: ['x', 'y'] })];
    const found = stationaryPoint(
      [{}, { a: 1 }, { a: 2 }, { nozzle: 'x' }],
      Float64Array.of(1, 1, -1, 5),
      list,
    );
    expect(found.kind === 'found' && [found.coded, found.averagedOver]).toEqual([
      { a: 0.5 },
      ['nozzle'],
    ]);
  });

  it('law: the gradient is zero there', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.integer({ min: -3000, max: 3000 }).map((value) => value / 1000),
          { minLength: 10, maxLength: 10 },
        ),
        (values) => {
          const list = factors('abc');
          const terms = modelTerms('quadratic', list);
          const coefficients = Float64Array.from(values);
          const found = stationaryPoint(terms, coefficients, list);
          fc.pre(found.kind === 'found' && found.coded !== null && found.distance! < 100);
          if (found.kind !== 'found') return;
          const at = Float64Array.from('abc', (name) => found.coded![name]!);
          const y = polynomial(terms, coefficients, list);
          expect(Math.abs(y(at) - found.value!)).toBeLessThan(1e-7);
          for (let j = 0; j < 3; j++) {
            const [up, down] = [at.slice(), at.slice()];
            up[j]! += 1e-3;
            down[j]! -= 1e-3;
            expect(Math.abs(y(up) - y(down)) / 2e-3).toBeLessThan(1e-6);
          }
        },
      ),
      { seed: 5 },
    );
  });
});

describe('polynomial', () => {
  it('agrees with the terms one by one, named levels included', () => {
    const list = [...factors('ab'), Factor.parse({ name: 'n', levels: ['x', 'y', 'z'] })];
    const terms = modelTerms('quadratic', list);
    const coefficients = Float64Array.from(terms, (_, j) => Math.sin(j + 1));
    const y = polynomial(terms, coefficients, list);
    for (const [at, level] of ['x', 'y', 'z'].entries()) {
      const point = { a: 0.3, b: -0.7, n: level };
      const sum = terms.reduce(
        (total, powers, j) => total + coefficients[j]! * termValue(powers, point, list),
        0,
      );
      expect(y(Float64Array.of(0.3, -0.7, at))).toBeCloseTo(sum, 14);
    }
  });
});

describe('desirability', () => {
  // Derringer & Suich (1980), equations for one-sided and two-sided transformations.
  it('follows the one-sided ramps', () => {
    const larger = { aim: 'largest', low: 10, target: 20 } as const;
    expect([5, 10, 15, 20, 30].map((y) => desirability(y, larger))).toEqual([0, 0, 0.5, 1, 1]);
    const smaller = { aim: 'smallest', target: 1, high: 3, shape: 2 } as const;
    expect([0, 1, 2, 3, 4].map((y) => desirability(y, smaller))).toEqual([1, 1, 0.25, 0, 0]);
  });

  it('follows the two-sided ramp', () => {
    const goal = { aim: 'target', low: 0, target: 1, high: 3 } as const;
    expect([-1, 0, 0.5, 1, 2, 3].map((y) => desirability(y, goal))).toEqual([0, 0, 0.5, 1, 0.5, 0]);
  });

  it('takes the weighed geometric mean, and 0 as soon as one is 0', () => {
    expect(jointDesirability([{ desirability: 0.25 }, { desirability: 1 }])).toBeCloseTo(0.5, 15);
    expect(
      jointDesirability([{ desirability: 0.5, importance: 3 }, { desirability: 1 }]),
    ).toBeCloseTo(0.5 ** 0.75, 15);
    expect(jointDesirability([{ desirability: 0 }, { desirability: 1 }])).toBe(0);
  });

  it('throws bad_goal when a limit is missing', () => {
    try {
      desirability(1, { aim: 'largest', target: 20 });
      throw new Error('nothing thrown');
    } catch (error) {
      expect((error as DomainError).code).toBe('bad_goal');
      expect((error as Error).message).toMatchInlineSnapshot(
        `"desirability: the aim "largest" must have low below target; got low=nothing, target=20. Give both limits in the response's unit."`,
      );
    }
  });
});

describe('bestJointDesirability', () => {
  const list = factors('ab');
  const hill = (a: number, b: number, width: number) => (x: Float64Array) =>
    1 - ((x[0]! - a) ** 2 + (x[1]! - b) ** 2) / width ** 2;
  const wanted = { aim: 'largest', low: 0, target: 1 } as const;

  it('finds a small window in a wide flat area of zeros', () => {
    const found = bestJointDesirability({
      responses: [{ name: 'y', predict: hill(0.83, -0.61, 0.02), goal: wanted }],
      factors: list,
      region: { kind: 'box', halfWidth: 1 },
      seed: 1,
    });
    if (found.kind !== 'found') throw new Error(found.kind);
    expect(found.joint).toBeGreaterThan(0.999);
    expect(Number(found.coded['a'])).toBeCloseTo(0.83, 3);
  });

  it('keeps linear limits and the sphere', () => {
    const limit = { coefficients: { a: 1, b: 1 }, atMost: 0.5, says: 'a + b not above 0.5' };
    const responses = [{ name: 'y', predict: hill(1, 1, 4), goal: wanted }];
    const box = bestJointDesirability({
      responses,
      factors: list,
      region: { kind: 'box', halfWidth: 1 },
      constraints: [limit],
      seed: 1,
    });
    // Nearest point of the half plane to (1, 1) is (0.25, 0.25).
    expect(box.kind === 'found' && Number(box.coded['a'])).toBeCloseTo(0.25, 4);
    expect(box.kind === 'found' && Number(box.coded['b'])).toBeCloseTo(0.25, 4);
    const sphere = bestJointDesirability({
      responses,
      factors: list,
      region: { kind: 'sphere', radius: 1 },
      seed: 1,
    });
    expect(sphere.kind === 'found' && Number(sphere.coded['a'])).toBeCloseTo(Math.SQRT1_2, 4);
  });

  it('says nowhere-acceptable with the nearest miss, and nothing-feasible', () => {
    const never = {
      name: 'y',
      predict: (x: Float64Array) => -1 - x[0]! ** 2 - x[1]! ** 2,
      goal: wanted,
    };
    const search = { factors: list, region: { kind: 'box', halfWidth: 1 } as const, seed: 1 };
    const missed = bestJointDesirability({ ...search, responses: [never] });
    expect(missed.kind).toBe('nowhere-acceptable');
    expect(missed.kind !== 'nothing-feasible' && Math.abs(Number(missed.coded['a']))).toBeLessThan(
      1e-3,
    );
    const shut = { coefficients: { a: 1 }, atMost: -5, says: 'a far below' };
    expect(bestJointDesirability({ ...search, responses: [never], constraints: [shut] }).kind).toBe(
      'nothing-feasible',
    );
  });

  it('gives the same answer for the same seed and chooses among named levels', () => {
    const named = [...list, Factor.parse({ name: 'nozzle', levels: ['x', 'y'] })];
    const search = {
      responses: [
        {
          name: 'y',
          predict: (x: Float64Array) => hill(0.2, 0.1, 3)(x) - (x[2] === 0 ? 0.5 : 0),
          goal: wanted,
        },
      ],
      factors: named,
      region: { kind: 'box', halfWidth: 1 } as const,
      seed: 9,
    };
    const first = bestJointDesirability(search);
    expect(first).toEqual(bestJointDesirability(search));
    expect(first.kind === 'found' && first.coded['nozzle']).toBe('y');
  });
});

describe('nearestFeasible', () => {
  it('law: is feasible and moves a feasible point nowhere', () => {
    const constraints = [
      { coefficients: { a: 1, b: 2 }, atMost: 0.7, says: 'x' },
      { coefficients: { a: -1, b: 1 }, atMost: 0.4, says: 'y' },
    ];
    const list = factors('ab');
    fc.assert(
      fc.property(
        fc.double({ min: -3, max: 3, noNaN: true }),
        fc.double({ min: -3, max: 3, noNaN: true }),
        (a, b) => {
          const at = nearestFeasible(
            Float64Array.of(a, b),
            list,
            { kind: 'box', halfWidth: 1 },
            constraints,
          )!;
          expect(at[0]! + 2 * at[1]!).toBeLessThan(0.7 + 1e-7);
          expect(-at[0]! + at[1]!).toBeLessThan(0.4 + 1e-7);
          const again = nearestFeasible(at, list, { kind: 'box', halfWidth: 1 }, constraints)!;
          expect(Math.hypot(again[0]! - at[0]!, again[1]! - at[1]!)).toBeLessThan(1e-7);
        },
      ),
      { seed: 6 },
    );
  });
});
