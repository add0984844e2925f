import {
  cautiousThermal,
  gapAfter,
  holdFor,
  Line,
  learnedFlushVolumes,
  learnedThermal,
  seededUniform,
  settleSeconds,
  standardNormal,
  Thermal,
  type ZoneTransition,
} from '@strandwise/core';
import { demoLine, demoScenario, VirtualLine } from '@strandwise/virtual-line';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const assumed = Thermal.parse({});
const truth = { lag: 140, heating: 0.12, cooling: 0.04 };

function change(fromCelsius: number, setCelsius: number, seed: number): ZoneTransition {
  const uniform = seededUniform(seed);
  const seconds = Float64Array.from({ length: 900 }, (_, i) => i);
  const gap = setCelsius - fromCelsius;
  const rate = gap > 0 ? truth.heating : truth.cooling;
  return {
    change: seed,
    seconds,
    setCelsius,
    celsius: seconds.map(
      (t) => setCelsius - gapAfter(gap, t, rate, truth.lag) + 0.3 * standardNormal(uniform),
    ),
  };
}

describe('gapAfter', () => {
  it('law: reaches the tolerance exactly when settleSeconds says', () => {
    const positive = fc.double({ min: 0.02, max: 0.5, noNaN: true });
    fc.assert(
      fc.property(
        fc.double({ min: 2, max: 60, noNaN: true }),
        positive,
        fc.double({ min: 20, max: 300, noNaN: true }),
        (gap, rate, lag) => {
          const seconds = settleSeconds(gap, rate, lag, 1);
          expect(gapAfter(gap, seconds, rate, lag)).toBeCloseTo(1, 6);
          expect(gapAfter(-gap, seconds, rate, lag)).toBeCloseTo(-1, 6);
        },
      ),
      { seed: 4 },
    );
  });

  it('agrees with stepping the differential equation', () => {
    let gap = 35;
    const dt = 0.01;
    for (let t = 0; t < 400; t += dt) gap -= dt * Math.min(0.12, gap / 140);
    expect(gapAfter(35, 400, 0.12, 140)).toBeCloseTo(gap, 2);
  });
});

describe('learnedThermal', () => {
  const changes = [
    change(180, 210, 1),
    change(210, 185, 2),
    change(185, 213, 3),
    change(213, 180, 4),
    change(190, 196, 5),
    change(200, 170, 6),
  ];

  it('finds the constants that made the changes', () => {
    const learned = learnedThermal(changes, assumed);
    if (learned.kind !== 'learned') throw new Error(learned.kind);
    expect(learned.zoneLagSeconds.value / truth.lag).toBeCloseTo(1, 1);
    expect(learned.heatingCelsiusPerSecond.value / truth.heating).toBeCloseTo(1, 1);
    expect(learned.coolingCelsiusPerSecond.value / truth.cooling).toBeCloseTo(1, 1);
    expect(learned.misfitCelsius).toBeCloseTo(0.3, 1);
  });

  it('keeps a rate that no change has reached', () => {
    const small = [1, 2, 3, 4].map((seed) => change(190, 195, seed));
    const learned = learnedThermal(small, assumed);
    if (learned.kind !== 'learned') throw new Error(learned.kind);
    expect(learned.coolingCelsiusPerSecond).toEqual({
      value: assumed.coolingCelsiusPerSecond,
      standardError: null,
    });
  });

  it('asks for more changes when there are few', () => {
    expect(learnedThermal(changes.slice(0, 2), assumed)).toEqual({
      kind: 'too-few',
      changes: 2,
      needed: 3,
    });
  });

  it('learns a slower line from its log, and holds longer on it than was assumed', () => {
    const slow = Line.parse({
      ...demoLine,
      thermal: {
        zoneLagSeconds: 150,
        heatingCelsiusPerSecond: 0.1,
        coolingCelsiusPerSecond: 0.035,
      },
    });
    const at = (level: number) => ({
      zonesCelsius: [level - 14, level, level + 6, level],
      screwRpm: 5,
      fanPercent: 50,
      other: {},
    });
    const line = new VirtualLine({
      line: slow,
      grade: demoScenario.virtualGrade,
      product: demoScenario.product,
      seed: 2,
      setPoints: at(190),
    });
    const logged = [205, 185, 200, 187, 206].flatMap((level) => {
      line.set(at(level));
      const readings = Array.from({ length: 1500 }, () => line.step());
      return at(level).zonesCelsius.map(
        (setCelsius, zone): ZoneTransition => ({
          change: level,
          seconds: Float64Array.from(readings, (_, i) => i),
          celsius: Float64Array.from(readings, ({ zonesCelsius }) => zonesCelsius![zone]!),
          setCelsius,
        }),
      );
    });
    const thermal = cautiousThermal(learnedThermal(logged, demoLine.thermal), demoLine.thermal);
    expect(thermal.basis).toBe('learned');
    expect(thermal.zoneLagSeconds).toBeGreaterThan(135);
    expect(thermal.zoneLagSeconds).toBeLessThan(180);
    const slowest = (line: Line): number =>
      Math.max(...holdFor({ from: at(205), to: at(185), line }).parts.zones);
    const learned = slowest({ ...demoLine, thermal });
    expect(learned).toBeGreaterThan(1.2 * slowest(demoLine));
    expect(learned / slowest(slow)).toBeGreaterThan(0.95);
    expect(learned / slowest(slow)).toBeLessThan(1.25);
  });
});

describe('learnedFlushVolumes', () => {
  it('leaves a flush that is enough, and never lowers it', () => {
    expect(learnedFlushVolumes([false, false, false, true, false], 1)).toBeNull();
    expect(learnedFlushVolumes([true, true, true, true], 1.7)).toBeNull();
  });

  it('asks for a thorough flush when strands go on moving', () => {
    expect(learnedFlushVolumes([true, false, true, true], 1)).toBe(1.7);
    expect(learnedFlushVolumes([true, true, true], 1)).toBeNull();
  });
});
