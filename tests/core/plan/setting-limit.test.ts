import {
  brokenConstraints,
  codedPoint,
  DomainError,
  NumericFactor,
  planOf,
  roomierLimits,
  roundingRoom,
  SettingLimit,
  settingConstraints,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { settingLimit } from '../../../packages/cli/src/command/setting-limit-text.ts';
import { fan, level, line, request, screw } from './example-plans.ts';

const factors = [level, screw, fan];
const warm = SettingLimit.parse({ weights: { level: 1, fan: -0.2 }, atMost: 195 });
const codeOf = (act: () => unknown): string => {
  try {
    act();
  } catch (error) {
    if (error instanceof DomainError) return error.code;
    throw error;
  }
  return 'none';
};

describe('settingConstraints', () => {
  it('codes a natural limit: broken beyond it, kept on it', () => {
    const constraints = settingConstraints([warm], factors);
    const at = (celsius: number) =>
      brokenConstraints(codedPoint({ level: celsius, screw: 5, fan: 50 }, factors), constraints);
    expect(at(205)).toEqual([]);
    expect(at(205.1)).toHaveLength(1);
    expect(at(205.1)[0]!.says).toBe('level − 0.2 × fan at most 195');
  });

  it('takes both ends and coded units', () => {
    const limit = SettingLimit.parse({
      weights: { screw: 2 },
      atLeast: -1,
      atMost: 1,
      units: 'coded',
    });
    const constraints = settingConstraints([limit], factors);
    expect(constraints).toHaveLength(2);
    expect(brokenConstraints({ level: 0, screw: 0.5, fan: 0 }, constraints)).toEqual([]);
    expect(brokenConstraints({ level: 0, screw: -0.6, fan: 0 }, constraints)).toHaveLength(1);
  });

  it('throws unknown_factor with the nearest name, not_numeric for named levels', () => {
    const misspelt = SettingLimit.parse({ weights: { levl: 1 }, atMost: 1 });
    expect(codeOf(() => settingConstraints([misspelt], factors))).toBe('unknown_factor');
    expect(() => settingConstraints([misspelt], factors)).toThrow(/Did you mean "level"\?/);
    const nozzle = { name: 'nozzle', levels: ['a', 'b'], changes: 'hard' as const };
    const named = SettingLimit.parse({ weights: { nozzle: 1 }, atMost: 1 });
    expect(codeOf(() => settingConstraints([named], [...factors, nozzle]))).toBe('not_numeric');
  });

  it('names the limits that leave no room', () => {
    const limits = [
      SettingLimit.parse({ weights: { level: 1 }, atLeast: 206, says: 'hot enough to flow' }),
      SettingLimit.parse({ weights: { level: 1, fan: -0.2 }, atMost: 190, says: 'cool with fan' }),
    ];
    const plan = () => planOf(request('optimal', { limits, options: { starts: 1 } }));
    expect(codeOf(plan)).toBe('conflicting_limits');
    expect(plan).toThrow(/"hot enough to flow", "cool with fan" together leave no room/);
  });
});

describe('limits on set points', () => {
  it('law: no plan exceeds a limit on a zone as keyed in, whatever the factors', () => {
    const limit = settingLimit('zone 4 <= 213');
    const { ordered } = planOf(
      request('optimal', { limits: [limit], options: { starts: 2, runs: 24 } }),
    );
    const hottest = ordered.runs.map(({ setPoints }) => setPoints!.zonesCelsius[3]!);
    // The middle of the level range stands at 210 °C in zone 4, so the limit cuts into the range.
    expect(Math.max(...hottest)).toBeLessThanOrEqual(213);
    expect(Math.max(...hottest)).toBeGreaterThan(209);
  });

  it('refuses a fixed design that breaks one, and names it', () => {
    const limits = [settingLimit('zone 4 - zone 1 <= 12')];
    const plan = () => planOf(request('box-behnken', { limits }));
    expect(codeOf(plan)).not.toBe('none');
    expect(plan).toThrow(/zone 4 - zone 1 <= 12/);
  });
});

describe('roundingRoom', () => {
  it('is half a step, or what rounding every zone the wrong way does to a profile term', () => {
    expect(roundingRoom(NumericFactor.parse(screw), line)).toBeCloseTo(0.05, 12);
    expect(roundingRoom(NumericFactor.parse(fan), line)).toBeCloseTo(2.5, 12);
    expect(roundingRoom(NumericFactor.parse(level), line)).toBeCloseTo(0.5, 12);
    // Four zones: tilt = Σ cᵢTᵢ with c = (−0.9, −0.3, 0.3, 0.9); half a degree each adds up to 1.2.
    const tilt = NumericFactor.parse({ name: 'tilt', low: 0, high: 20, acts: 'tilt' });
    expect(roundingRoom(tilt, line)).toBeCloseTo(1.2, 12);
  });

  it('draws a limit on one rounded factor in to its last setting', () => {
    const limit = SettingLimit.parse({ weights: { fan: 1 }, atMost: 63 });
    const [drawn] = roomierLimits(settingConstraints([limit], factors), factors, line);
    expect(drawn!.atMost / drawn!.coefficients['fan']!).toBeCloseTo((2 * 60 - 100) / 50, 12);
  });
});

describe('settingLimit', () => {
  it('reads a sum with numbers, signs and an end', () => {
    expect(settingLimit('level + 0.5 tilt <= 205')).toMatchObject({
      weights: { level: 1, tilt: 0.5 },
      atMost: 205,
    });
    expect(settingLimit('zone 1 - 2 * zone 2 >= -10.5')).toMatchObject({
      weights: { 'zone 1': 1, 'zone 2': -2 },
      atLeast: -10.5,
    });
  });

  it.each(['level', 'level <= hot', '<= 3', 'level = 3'])('refuses "%s"', (text) => {
    expect(() => settingLimit(text)).toThrow(/--limit must read like "level \+ 0\.5 tilt <= 205"/);
  });
});
