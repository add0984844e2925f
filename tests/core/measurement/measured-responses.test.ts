import {
  DomainError,
  MeasuredResponses,
  type MeasuringContext,
  measuredResponses,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { autoregressive, logOf, normalSource } from './noise.ts';

const context: MeasuringContext = {
  screwRpm: 5,
  gauge: { sdMm: 0.004, resolutionMm: 0.002, axes: 1 },
  targetMm: 1.75,
  toleranceMm: 0.05,
  densityGPerCm3: 1.24,
};
const whole = { fromSeconds: 0, toSeconds: 1e6 };
const usual = (seed: number, n = 600) => {
  const normal = normalSource(seed);
  return logOf(
    autoregressive(n, 0.7, normal).map(
      (v, i) => 1.752 + 0.008 * v + 0.006 * Math.sin((2 * Math.PI * i) / 12),
    ),
    { pullerMmPerSecond: autoregressive(n, 0.9, normal).map((v) => 15 + 0.1 * v) },
  );
};

describe('measuredResponses', () => {
  it('gives every figure of an ordinary stretch, in one strict object', () => {
    const got = measuredResponses(usual(1), whole, context);
    expect(MeasuredResponses.parse(got)).toEqual(got);
    expect(got.readings).toBe(600);
    expect(got.diameterOffsetMm).toBeCloseTo(0.002, 2);
    expect(got.diameterSdMm).toBeCloseTo(Math.hypot(0.008, 0.006 / Math.SQRT2), 2);
    expect(got.screwTurnSdMm).toBeCloseTo(0.006 / Math.SQRT2, 3);
    expect(got.diameterLnSdWeight! * got.diameterLnSdVariance!).toBeCloseTo(1, 12);
    expect(got.floor).toBe('clear');
  });

  it('gives the output of the trade’s example: 1.75 mm at 16.4 mm/s and 1.24 g/cm³ is 0.176 kg/h', () => {
    // π/4·1.75²·16.4 = 39.45 mm³/s; times 1.24 g/cm³ is 0.0489 g/s.
    const d = new Float64Array(60).fill(1.75);
    const log = logOf(d, { pullerMmPerSecond: new Float64Array(60).fill(16.4) });
    const got = measuredResponses(log, whole, context);
    expect(got.outputGPerSecond).toBeCloseTo(0.04891, 4);
    expect(got.outputKgPerHour).toBeCloseTo(0.176, 3);
  });

  it('says what it cannot say when the gauge never moved', () => {
    const got = measuredResponses(logOf(new Float64Array(60).fill(1.75)), whole, context);
    expect(got.diameterSdMm).toBe(0);
    expect('diameterLnSd' in got).toBe(false);
    expect(got.floor).toBe('at-floor');
    expect(got.cannotSay).toMatchInlineSnapshot(`
      [
        "ovality: one axis only, so the floor leaves out what an oval strand adds",
        "ln SD of diameter: every reading is the same; the gauge is stuck or too coarse for this strand",
        "CV of puller speed: the log has no puller speed for this stretch",
        "output rate: no puller speed is known",
      ]
    `);
    expect(MeasuredResponses.parse(got)).toEqual(got);
  });

  it('counts missing diameters and goes on', () => {
    const log = usual(2);
    const holes = log.diameterMm.map((d, i) => (i % 50 === 0 ? Number.NaN : d));
    const got = measuredResponses({ ...log, diameterMm: holes }, whole, context);
    expect(got.missingReadings).toBe(12);
    expect(got.readings).toBe(588);
    expect(got.diameterLnSdVariance).toBeGreaterThan(0);
  });

  it('flags spikes and leaves them in the SD', () => {
    const log = usual(3);
    const spiked = log.diameterMm.map((d, i) => (i === 300 ? d + 0.15 : d));
    const [clean, got] = [log.diameterMm, spiked].map((diameterMm) =>
      measuredResponses({ ...log, diameterMm }, whole, context),
    );
    expect(got!.spikes).toBe(clean!.spikes + 1);
    expect(got!.diameterSdMm).toBeGreaterThan(clean!.diameterSdMm);
    expect(Math.abs(got!.diameterRobustSdMm / clean!.diameterRobustSdMm - 1)).toBeLessThan(0.02);
  });

  it('throws too_few_values on a stretch of ten readings', () => {
    const measure = () => measuredResponses(usual(4), { fromSeconds: 0, toSeconds: 9 }, context);
    expect(measure).toThrow(DomainError);
    expect(measure).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: measuredResponses: the stretch must hold at least 30 diameters; got 10 (0 s to 9 s). Measure longer.]`,
    );
  });

  it('throws empty_stretch outside the log', () => {
    expect(() =>
      measuredResponses(usual(4), { fromSeconds: 900, toSeconds: 999 }, context),
    ).toThrow('log runs from 0 s to 599 s');
  });

  it('law: scaling diameters about the mean scales every SD and leaves the weight alone', () => {
    const log = usual(5);
    const base = measuredResponses(log, whole, context);
    fc.assert(
      fc.property(fc.double({ min: 0.5, max: 3, noNaN: true }), (by) => {
        const diameterMm = log.diameterMm.map(
          (d) => base.diameterMeanMm + by * (d - base.diameterMeanMm),
        );
        const got = measuredResponses({ ...log, diameterMm }, whole, context);
        expect(got.diameterSdMm / (by * base.diameterSdMm)).toBeCloseTo(1, 10);
        expect(got.diameterRobustSdMm / (by * base.diameterRobustSdMm)).toBeCloseTo(1, 8);
        expect(got.diameterLnSd! - Math.log(by)).toBeCloseTo(base.diameterLnSd!, 10);
        expect(got.diameterLnSdVariance! / base.diameterLnSdVariance!).toBeCloseTo(1, 8);
      }),
      { seed: 6, numRuns: 25 },
    );
  });

  it('law: no figure is ever NaN, whatever the holes', () => {
    fc.assert(
      fc.property(
        fc.infiniteStream(fc.integer({ min: 0, max: 9 })),
        fc.integer({ min: 0, max: 3 }),
        (stream, kind) => {
          const dice = Array.from({ length: 120 }, () => stream.next().value as number);
          const d = Float64Array.from(dice, (k) =>
            k === 9 ? Number.NaN : 1.75 + (kind === 0 ? 0 : 0.01 * k),
          );
          const v = Float64Array.from(dice, (k) =>
            k < kind ? Number.NaN : kind === 1 ? 15 : 15 + 0.1 * k,
          );
          const log = logOf(d, kind === 3 ? {} : { pullerMmPerSecond: v });
          const present = d.filter((x) => !Number.isNaN(x)).length;
          if (present < 30) return;
          const got = measuredResponses(log, whole, context);
          expect(MeasuredResponses.parse(got)).toEqual(got);
          for (const value of Object.values(got)) expect(value).not.toBeNaN();
        },
      ),
      { seed: 7, numRuns: 200 },
    );
  });
});
