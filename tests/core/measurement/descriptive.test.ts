import {
  DomainError,
  floorStanding,
  gaugeFloor,
  mean,
  median,
  outsideTolerance,
  quantileOfSorted,
  robustSd,
  sampleSd,
  spikesAt,
  strandMetres,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { logOf, normalSource } from './noise.ts';

describe('sampleSd', () => {
  it('gives all digits on a large offset: NIST StRD NumAcc4, certified SD 0.1', () => {
    // Source: NIST StRD univariate set NumAcc4 (from memory): 10000000.2 once, then 500 pairs of
    // 10000000.1 and 10000000.3; certified mean 10000000.2, SD 0.1.
    const x = new Float64Array(1001);
    x[0] = 10000000.2;
    for (let i = 1; i < 1001; i += 2) {
      x[i] = 10000000.1;
      x[i + 1] = 10000000.3;
    }
    expect(mean(x)).toBeCloseTo(10000000.2, 8);
    // The data themselves are rounded to 1.9e-9, so 1e-8 relative is what they allow.
    expect(Math.abs(sampleSd(x) - 0.1) / 0.1).toBeLessThan(1e-7);
  });

  it('gives NumAcc1: 10000001, 10000003, 10000002 have mean 10000002 and SD 1', () => {
    const x = Float64Array.of(10000001, 10000003, 10000002);
    expect([mean(x), sampleSd(x)]).toEqual([10000002, 1]);
  });

  it('leaves missing values out', () => {
    expect(sampleSd(Float64Array.of(1, Number.NaN, 3))).toBe(Math.SQRT2);
  });

  it('throws too_few_values on one value', () => {
    expect(() => sampleSd(Float64Array.of(1))).toThrow(DomainError);
    expect(() => sampleSd(Float64Array.of(1))).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: sampleVariance: the column must hold at least 2 present values; got 1. Take a longer stretch, or check that the log holds this column.]`,
    );
  });

  it('law: shifting changes nothing, scaling scales', () => {
    const values = fc.array(fc.double({ min: -10, max: 10, noNaN: true }), {
      minLength: 3,
      maxLength: 40,
    });
    fc.assert(
      fc.property(values, fc.double({ min: -100, max: 100, noNaN: true }), (list, shift) => {
        const x = Float64Array.from(list);
        const sd = sampleSd(x);
        expect(Math.abs(sampleSd(x.map((v) => v + shift)) - sd)).toBeLessThan(1e-10);
        expect(Math.abs(sampleSd(x.map((v) => 3 * v)) - 3 * sd)).toBeLessThan(1e-10);
      }),
      { seed: 2 },
    );
  });
});

describe('robustSd', () => {
  it('agrees with the SD on normal noise and ignores 1 % of spikes', () => {
    const normal = normalSource(1);
    const x = Float64Array.from({ length: 20_000 }, () => 1.75 + 0.01 * normal());
    expect(robustSd(x) / sampleSd(x)).toBeGreaterThan(0.97);
    expect(robustSd(x) / sampleSd(x)).toBeLessThan(1.03);
    const spiked = x.map((v, i) => (i % 100 === 0 ? v + 0.2 : v));
    expect(robustSd(spiked) / 0.01).toBeLessThan(1.04);
    expect(sampleSd(spiked) / 0.01).toBeGreaterThan(2);
  });
});

describe('quantileOfSorted', () => {
  it('gives the quartiles of 1 … 9 as 3, 5 and 7, as R quantile() type 7 does', () => {
    const x = Float64Array.of(1, 2, 3, 4, 5, 6, 7, 8, 9);
    expect([0.25, 0.5, 0.75].map((p) => quantileOfSorted(x, p))).toEqual([3, 5, 7]);
    expect(median(Float64Array.of(4, 1, Number.NaN, 3, 2))).toBe(2.5);
  });
});

describe('spikesAt', () => {
  it('marks planted spikes and hardly anything else, and removes nothing', () => {
    const normal = normalSource(5);
    const x = Float64Array.from({ length: 3000 }, () => 1.75 + 0.01 * normal());
    for (const at of [100, 900, 2500]) x[at] = 1.75 + 0.12;
    const before = x.slice();
    expect(spikesAt(x)).toEqual([100, 900, 2500]);
    expect(x).toEqual(before);
  });

  it('marks nothing in a constant log', () => {
    expect(spikesAt(new Float64Array(100).fill(1.75))).toEqual([]);
  });
});

describe('outsideTolerance', () => {
  it('counts the share and the longest stretch in metres', () => {
    const d = new Float64Array(100).fill(1.75);
    for (let i = 20; i < 30; i++) d[i] = 1.81;
    for (let i = 50; i < 53; i++) d[i] = 1.69;
    const log = logOf(d, { pullerMmPerSecond: new Float64Array(100).fill(20) });
    const outside = outsideTolerance(log, { targetMm: 1.75, toleranceMm: 0.05 });
    expect(outside.share).toBeCloseTo(0.13, 12);
    expect(outside.longestMetres).toBeCloseTo(0.2, 12);
    expect(strandMetres(log)).toBeCloseTo(1.98, 12);
  });

  it('takes a reading on the limit as inside', () => {
    const log = logOf(new Float64Array(10).fill(1.8));
    expect(outsideTolerance(log, { targetMm: 1.75, toleranceMm: 0.05 }).share).toBe(0);
  });
});

describe('gaugeFloor', () => {
  it('adds e²/8 on one axis: an oval of 0.03 mm alone shows 10.6 µm', () => {
    // ½e·cos 2ψ with ψ uniform has mean square e²/8.
    let sum = 0;
    for (let k = 0; k < 360; k++) sum += (0.015 * Math.cos((2 * k * Math.PI) / 180)) ** 2;
    const alone = gaugeFloor({ sdMm: 0, resolutionMm: 0, axes: 1, ovalityMm: 0.03 });
    expect(alone.sdMm).toBeCloseTo(Math.sqrt(sum / 360), 12);
    expect(alone.sdMm * 1000).toBeCloseTo(10.6, 1);
  });

  it('gives 6.4 µm for 4 µm noise and 14 µm oval on one axis', () => {
    const floor = gaugeFloor({ sdMm: 0.004, resolutionMm: 0, axes: 1, ovalityMm: 0.014 });
    expect(floor.sdMm * 1000).toBeCloseTo(6.36, 2);
  });

  it('matches the variance of a rounded uniform walk for the rounding part', () => {
    const q = 0.002;
    let sum = 0;
    const n = 10_000;
    for (let i = 0; i < n; i++) {
      const d = 1.7 + (i * 0.1) / n;
      sum += (Math.round(d / q) * q - d) ** 2;
    }
    const { quantisationVarianceMm2 } = gaugeFloor({ sdMm: 0, resolutionMm: q, axes: 1 });
    expect(sum / n / quantisationVarianceMm2).toBeCloseTo(1, 2);
  });

  it('says in words whether s is the gauge’s', () => {
    const floor = gaugeFloor({ sdMm: 0.004, resolutionMm: 0.002, axes: 1 });
    expect(floorStanding(0.0042, floor)).toMatchInlineSnapshot(`
      {
        "kind": "at-floor",
        "says": "s = 4.2 µm is what the gauge alone would show (4.0 µm): settings cannot be told apart here. Use a finer gauge or a second axis.",
      }
    `);
    expect(floorStanding(0.005, floor).kind).toBe('near-floor');
    expect(floorStanding(0.012, floor)).toMatchInlineSnapshot(`
      {
        "kind": "clear",
        "processSdMm": 0.011298967504452195,
        "says": "s = 12.0 µm stands clear of the gauge floor 4.0 µm (11 % of the variance).",
      }
    `);
  });
});
