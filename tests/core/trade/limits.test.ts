import {
  brokenConstraints,
  codedPoint,
  Grade,
  Line,
  type LinearConstraint,
  limits,
  NumericFactor,
  naturalPoint,
  type Point,
  pointOf,
  refusals,
  setPointsOf,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const line = Line.parse({
  name: 'bench line',
  zones: [1, 2, 3, 4].map((i) => ({ name: `zone ${i}`, heaterLimitCelsius: 300 })),
  screw: {},
});
const grade = Grade.parse({
  name: 'invented PX-1',
  family: 'PLA',
  meltingCelsius: 165,
  floorCelsius: 175,
  ceilingCelsius: 225,
  solidDensityGPerCm3: 1.24,
  meltDensityGPerCm3: 1.07,
});
const factors = [
  { name: 'level', low: 180, high: 220, acts: 'level', changes: 'hard' },
  { name: 'tilt', low: -20, high: 60, acts: 'tilt', changes: 'hard' },
  { name: 'hump', low: -20, high: 40, acts: 'hump', changes: 'hard' },
  { name: 'screw', low: 0.5, high: 20, acts: 'screw', changes: 'semi-hard' },
  { name: 'fan', low: -10, high: 120, acts: 'fan' },
].map((factor) => NumericFactor.parse(factor));
const coded = fc.record({
  level: fc.double({ min: -1, max: 1, noNaN: true }),
  tilt: fc.double({ min: -1, max: 1, noNaN: true }),
  hump: fc.double({ min: -1, max: 1, noNaN: true }),
  screw: fc.double({ min: -1, max: 1, noNaN: true }),
  fan: fc.double({ min: -1, max: 1, noNaN: true }),
});

/** The last point inside the limits on the way from one that is inside. */
function edgePoint(from: Point, to: Point, all: readonly LinearConstraint[]): Point {
  const at = (share: number): Point =>
    Object.fromEntries(
      Object.keys(from).map((name) => [
        name,
        Number(from[name]) + share * (Number(to[name]) - Number(from[name])),
      ]),
    );
  if (brokenConstraints(to, all).length === 0) return to;
  let [inside, outside] = [0, 1];
  for (let i = 0; i < 60; i++) {
    const middle = (inside + outside) / 2;
    if (brokenConstraints(at(middle), all).length === 0) inside = middle;
    else outside = middle;
  }
  return at(inside);
}

describe('setPointsOf', () => {
  it('gives whole degrees for level 195, tilt 20, hump 10', () => {
    const natural = { level: 195, tilt: 20, hump: 10, screw: 5.04, fan: 52 };
    expect(setPointsOf(natural, factors, line)).toEqual({
      zonesCelsius: [180, 197, 203, 200],
      screwRpm: 5,
      fanPercent: 50,
      other: {},
    });
  });

  it('takes terms without a factor from the default zones', () => {
    const level = [factors[0]!];
    const setPoints = setPointsOf({ level: 205 }, level, line, {
      zonesCelsius: [180, 197, 203, 200],
      screwRpm: 6,
      fanPercent: 35,
    });
    expect(setPoints.zonesCelsius).toEqual([190, 207, 213, 210]);
    expect([setPoints.screwRpm, setPoints.fanPercent]).toEqual([6, 35]);
  });

  it('lets a raw zone factor stand for its zone', () => {
    const raw = [
      factors[0]!,
      NumericFactor.parse({ name: 'die', low: 190, high: 220, acts: 'zone 4' }),
    ];
    expect(setPointsOf({ level: 200, die: 215 }, raw, line).zonesCelsius).toEqual([
      200, 200, 200, 215,
    ]);
  });

  it('throws missing_setting when a zone has neither factor nor default', () => {
    const raw = [NumericFactor.parse({ name: 'die', low: 190, high: 220, acts: 'zone 4' })];
    expect(() => setPointsOf({ die: 215 }, raw, line)).toThrow(/zone 1 must have a set point/);
  });
});

describe('pointOf', () => {
  it('law: rounding is stable, the analysed point gives its own set points', () => {
    fc.assert(
      fc.property(coded, (point) => {
        const setPoints = setPointsOf(naturalPoint(point, factors), factors, line);
        const natural = pointOf(setPoints, factors, line);
        // Four zones need the ripple that rounding leaves, so ask within one step.
        const again = setPointsOf(natural, factors, line);
        for (const [i, zone] of again.zonesCelsius.entries()) {
          expect(Math.abs(zone - setPoints.zonesCelsius[i]!)).toBeLessThanOrEqual(1);
        }
        expect(again.screwRpm).toBe(setPoints.screwRpm);
        expect(again.fanPercent).toBe(setPoints.fanPercent);
      }),
      { seed: 31 },
    );
  });
});

describe('limits', () => {
  it('law: a point breaks a constraint exactly when its unrounded set points are refused', () => {
    const fine = Line.parse({
      ...line,
      setPointStepCelsius: 1e-7,
      screw: { ...line.screw, stepRpm: 1e-7 },
      fan: { stepPercent: 1e-7 },
    });
    const all = limits({ factors, line: fine, grade, product: { diameterMm: 1.75 } });
    let refusedCount = 0;
    fc.assert(
      fc.property(coded, (point) => {
        const setPoints = setPointsOf(naturalPoint(point, factors), factors, fine);
        const broken = brokenConstraints(point, all);
        const refused = refusals(setPoints, fine, grade, { diameterMm: 1.75 });
        if (refused.length > 0) refusedCount++;
        expect(broken.length > 0).toBe(refused.length > 0);
      }),
      { seed: 32, numRuns: 400 },
    );
    expect(refusedCount).toBeGreaterThan(20);
    expect(refusedCount).toBeLessThan(400);
  });

  it.each([
    [1, 30],
    [0.5, 30],
    [2, 29],
    [0.7, 20],
  ])(
    'law: no point inside the limits is refused after rounding to %f °C, steps up to %f °C',
    (step, largest) => {
      const coarse = Line.parse({
        ...line,
        setPointStepCelsius: step,
        largestNeighbourStepCelsius: largest,
        fan: { stepPercent: 5 },
      });
      const product = { diameterMm: 1.75 };
      const all = limits({ factors, line: coarse, grade, product });
      let inside = 0;
      let closest = Number.POSITIVE_INFINITY;
      fc.assert(
        fc.property(coded, (point) => {
          // Pulled to the nearest limit on the way out from a roomy place, where rounding could hurt.
          const room = codedPoint({ level: 200, tilt: 0, hump: 0, screw: 5, fan: 50 }, factors);
          const edge = edgePoint(room, point, all);
          const setPoints = setPointsOf(naturalPoint(edge, factors), factors, coarse);
          expect(refusals(setPoints, coarse, grade, product)).toEqual([]);
          inside++;
          for (let z = 1; z < 4; z++) {
            const apart = Math.abs(setPoints.zonesCelsius[z]! - setPoints.zonesCelsius[z - 1]!);
            closest = Math.min(closest, largest - apart);
          }
        }),
        { seed: 33, numRuns: 500 },
      );
      expect(inside).toBe(500);
      // Some points do lie at the largest step that a multiple of the controller's can make.
      expect(closest).toBeLessThan(step);
    },
  );

  it('says which limit is broken', () => {
    const all = limits({ factors, line, grade });
    const point = codedPoint({ level: 218, tilt: 40, hump: 5, screw: 5, fan: 50 }, factors);
    expect(brokenConstraints(point, all).map(({ says }) => says)).toEqual([
      'zone 3 not above the ceiling 225 °C',
      'zone 4 not above the ceiling 225 °C',
    ]);
  });

  it('names the heater where it is the lower limit', () => {
    const weak = Line.parse({
      ...line,
      zones: line.zones.map((z) => ({ ...z, heaterLimitCelsius: 230 })),
    });
    const says = limits({ factors, line: weak, grade }).map((constraint) => constraint.says);
    expect(says).toContain('zone 2 not above the heater limit less 10 °C, 220 °C');
  });
});

describe('refusals', () => {
  const setPoints = { zonesCelsius: [180, 197, 203, 200], screwRpm: 5, fanPercent: 50, other: {} };

  it('finds nothing wrong inside the limits', () => {
    expect(refusals(setPoints, line, grade, { diameterMm: 1.75 })).toEqual([]);
  });

  it('says the number and the limit', () => {
    const hot = { ...setPoints, zonesCelsius: [180, 197, 203, 232] };
    expect(refusals(hot, line, grade)[0]).toMatchInlineSnapshot(`
      {
        "code": "above_ceiling",
        "says": "Planned set point 232 °C of zone 4 is above the material's recorded ceiling 225 °C. The plan cannot include it.",
        "zone": 4,
      }
    `);
  });

  it.each([
    ['below_floor', { zonesCelsius: [180, 170, 190, 190] }],
    ['below_floor', { zonesCelsius: [130, 155, 180, 190] }],
    ['neighbour_step', { zonesCelsius: [176, 176, 208, 208] }],
    // One controller step more than the 30 °C the line allows.
    ['neighbour_step', { zonesCelsius: [180, 211, 203, 200] }],
    ['screw_range', { screwRpm: 16 }],
    ['screw_range', { screwRpm: Number.NaN }],
    ['fan_range', { fanPercent: 105 }],
    ['zone_count', { zonesCelsius: [200] }],
  ])('reports %s', (code, change) => {
    const codes = refusals({ ...setPoints, ...change }, line, grade).map((refusal) => refusal.code);
    expect(codes).toContain(code);
  });

  it('refuses a puller speed the line has not got', () => {
    const slow = Line.parse({
      ...line,
      puller: { lowMmPerSecond: 2, highMmPerSecond: 10, loop: 'on' },
    });
    const [refusal] = refusals(setPoints, slow, grade, { diameterMm: 1.75 });
    expect(refusal!.code).toBe('puller_range');
  });
});
