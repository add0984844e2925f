import {
  DomainError,
  Line,
  profileBasis,
  profileOf,
  roundedProfile,
  roundedTo,
  zoneTemperatures,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const lineOf = (count: number, positions?: number[], step = 1) =>
  Line.parse({
    name: 'bench line',
    zones: Array.from({ length: count }, (_, i) => ({
      name: `zone ${i + 1}`,
      heaterLimitCelsius: 350,
      ...(positions ? { positionMm: positions[i] } : {}),
    })),
    setPointStepCelsius: step,
    screw: {},
  });

const near = (got: readonly number[], want: readonly number[]) => {
  expect(got.length).toBe(want.length);
  for (const [i, value] of want.entries()) expect(got[i]).toBeCloseTo(value, 10);
};

describe('zoneTemperatures', () => {
  // Orthogonal polynomial contrasts for 3, 4 and 5 equally spaced levels are in any table of
  // them, e.g. Fisher & Yates (1963), Statistical Tables, table XXIII (from memory).
  it('matches the tabled contrasts for 3, 4 and 5 zones', () => {
    near(zoneTemperatures({ level: 200, tilt: 12, hump: 9 }, lineOf(3)), [191, 206, 203]);
    near(profileBasis(lineOf(4))[1]!, [-1 / 2, -1 / 6, 1 / 6, 1 / 2]);
    near(profileBasis(lineOf(4))[2]!, [-1 / 2, 1 / 2, 1 / 2, -1 / 2]);
    near(profileBasis(lineOf(4))[3]!, [-1, 3, -3, 1]);
    near(profileBasis(lineOf(5))[1]!, [-1 / 2, -1 / 4, 0, 1 / 4, 1 / 2]);
    near(profileBasis(lineOf(5))[2]!, [-2 / 4, 1 / 4, 2 / 4, 1 / 4, -2 / 4]);
    near(profileBasis(lineOf(5))[3]!, [-1, 2, 0, -2, 1]);
    near(
      profileBasis(lineOf(6))[2]!,
      [-5, 1, 4, 4, 1, -5].map((v) => v / 9),
    );
  });

  it('turns level 195, tilt 20, hump 10 into 180, 196.67, 203.33, 200 and back', () => {
    const line = lineOf(4);
    const temperatures = zoneTemperatures({ level: 195, tilt: 20, hump: 10 }, line);
    near(temperatures, [180, 590 / 3, 610 / 3, 200]);
    const back = profileOf(temperatures, line);
    near([back.level, back.tilt, back.hump, back.ripple], [195, 20, 10, 0]);
    const rounded = roundedProfile({ level: 195, tilt: 20, hump: 10 }, line);
    expect(rounded.zonesCelsius).toEqual([180, 197, 203, 200]);
    near(
      [rounded.profile.level, rounded.profile.tilt, rounded.profile.hump, rounded.profile.ripple],
      [195, 0.9 * 20 + 0.3 * 6, 10, (-180 + 3 * 197 - 3 * 203 + 200) / 20],
    );
  });

  it('uses level alone for one zone, and level and tilt for two', () => {
    expect(zoneTemperatures({ level: 200 }, lineOf(1))).toEqual([200]);
    expect(zoneTemperatures({ level: 200, tilt: 10 }, lineOf(2))).toEqual([195, 205]);
  });

  it('throws profile_term when the line has too few zones for the term', () => {
    let caught: unknown;
    try {
      zoneTemperatures({ level: 200, hump: 5 }, lineOf(2));
    } catch (error) {
      caught = error;
    }
    expect((caught as DomainError).code).toBe('profile_term');
    expect((caught as DomainError).message).toMatchInlineSnapshot(
      `"zoneTemperatures: hump must be 0 on a line of 2 zones; got 5 °C. Use only level, tilt."`,
    );
  });

  it('throws zone_positions when zones are counted from the die', () => {
    expect(() => zoneTemperatures({ level: 200 }, lineOf(3, [300, 200, 100]))).toThrow(DomainError);
  });
});

const anyLine = fc
  .tuple(
    fc.integer({ min: 1, max: 8 }),
    fc.array(fc.double({ min: 20, max: 90, noNaN: true }), { minLength: 8, maxLength: 8 }),
    fc.boolean(),
  )
  .map(([count, gaps, isEqual]) => {
    let at = 0;
    const positions = gaps.slice(0, count).map((gap) => {
      at += gap;
      return at;
    });
    return isEqual ? lineOf(count) : lineOf(count, positions);
  });
const degrees = fc.double({ min: -40, max: 40, noNaN: true });

describe('profileOf', () => {
  it('law: profile to zones and back returns the profile, 1 to 8 zones, any spacing', () => {
    fc.assert(
      fc.property(
        anyLine,
        degrees,
        degrees,
        degrees,
        degrees,
        (line, level, tilt, hump, ripple) => {
          const n = line.zones.length;
          const profile = {
            level: 200 + level,
            tilt: n > 1 ? tilt : 0,
            hump: n > 2 ? hump : 0,
            ripple: n > 3 ? ripple : 0,
          };
          const back = profileOf(zoneTemperatures(profile, line), line);
          for (const term of ['level', 'tilt', 'hump', 'ripple'] as const) {
            // Positions at worst 4.5 to 1 apart: the contrasts lose at most four of fifteen digits.
            expect(Math.abs(back[term] - profile[term])).toBeLessThan(1e-8);
          }
        },
      ),
      { seed: 11 },
    );
  });

  it('law: contrasts are orthogonal, and the mean of the zones is the level', () => {
    fc.assert(
      fc.property(anyLine, (line) => {
        const basis = profileBasis(line);
        for (const [i, a] of basis.entries()) {
          for (const b of basis.slice(i + 1)) {
            const product = a.reduce((sum, value, k) => sum + value * b[k]!, 0);
            expect(Math.abs(product)).toBeLessThan(1e-9);
          }
        }
      }),
      { seed: 12 },
    );
  });

  it('law: up to four zones any temperatures are exactly a profile', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 4 }),
        fc.array(fc.integer({ min: 120, max: 300 }), { minLength: 4, maxLength: 4 }),
        (count, values) => {
          const line = lineOf(count);
          const temperatures = values.slice(0, count);
          near(zoneTemperatures(profileOf(temperatures, line), line), temperatures);
        },
      ),
      { seed: 13 },
    );
  });

  it('law: rounding moves no zone by more than half a step', () => {
    fc.assert(
      fc.property(anyLine, degrees, fc.constantFrom(0.1, 0.5, 1, 5), (any, level, step) => {
        const line = { ...any, setPointStepCelsius: step };
        const exact = zoneTemperatures({ level: 200 + level }, line);
        const { zonesCelsius } = roundedProfile({ level: 200 + level }, line);
        for (const [i, zone] of zonesCelsius.entries()) {
          expect(Math.abs(zone - exact[i]!)).toBeLessThanOrEqual(step / 2 + 1e-6);
          expect(roundedTo(zone, step)).toBe(zone);
        }
      }),
      { seed: 14 },
    );
  });
});
