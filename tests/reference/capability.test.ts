import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import {
  c4,
  chartFactors,
  indices,
  nearerInterval,
  nearerNotBelow,
  normalLower,
  normalToleranceInterval,
  rangeConstants,
  readingsNeeded,
  spreadInterval,
  toleranceFactorTwoSided,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { column, dataTable, expectClose, expectedOf } from './dataset.ts';

const slug = 'capability-gear';
const wanted = expectedOf(slug);
const { limits } = JSON.parse(
  readFileSync(join(import.meta.dirname, '../../datasets', slug, 'expected.json'), 'utf8'),
);
const specification = { low: limits.LSL as number, high: limits.USL as number };
const table = dataTable(slug);
const diameter = column(table, 'diameter');
const batch = column(table, 'batch');
const mean = diameter.reduce((a, b) => a + b, 0) / diameter.length;
const sdOf = (values: ArrayLike<number>): number => {
  const list = Array.from(values);
  const centre = list.reduce((a, b) => a + b, 0) / list.length;
  return Math.sqrt(list.reduce((a, b) => a + (b - centre) ** 2, 0) / (list.length - 1));
};
const batches = Array.from({ length: 10 }, (_, b) => diameter.filter((_, i) => batch[i] === b + 1));

// ISO 22514-2 definitions on the gear diameters of the NIST/SEMATECH e-Handbook; tolerance 1e-10
// relative where both sides are closed forms.
describe('capability on the gear diameters', () => {
  it('gives performance indices from the SD of all readings', () => {
    const got = indices(mean, sdOf(diameter), specification);
    expectClose(got.spread, wanted.overall.C, 1e-10, 'Pp');
    expectClose(got.toHigh, wanted.overall.CU, 1e-10, 'to the upper limit');
    expectClose(got.toLow, wanted.overall.CL, 1e-10, 'to the lower limit');
    expectClose(got.nearer, wanted.overall.Ck, 1e-10, 'Ppk');
  });

  it('gives capability indices from the SD within batches, three ways', () => {
    const sds = batches.map(sdOf);
    const ranges = batches.map((one) => Math.max(...one) - Math.min(...one));
    const average = (values: readonly number[]): number =>
      values.reduce((a, b) => a + b, 0) / values.length;
    const ways = {
      pooled_s: Math.sqrt(average(sds.map((sd) => sd * sd))),
      rbar_d2: average(ranges) / rangeConstants(10).d2,
      sbar_c4: average(sds) / c4(10),
    };
    for (const [way, sigma] of Object.entries(ways)) {
      const got = indices(mean, sigma, specification);
      // d2 is good to 1e-8.
      expectClose(sigma, wanted.within[way].sigma, 1e-8, `${way} sigma`);
      expectClose(got.spread, wanted.within[way].C, 1e-8, `${way} Cp`);
      expectClose(got.nearer, wanted.within[way].Ck, 1e-8, `${way} Cpk`);
    }
  });

  it('gives their intervals', () => {
    const whole = indices(mean, sdOf(diameter), specification);
    const n = { forMean: 100, forVariance: 100 };
    const spread = spreadInterval(whole, n);
    expectClose(spread.low, wanted.overall_ci95.Pp[0], 1e-8, 'Pp low');
    expectClose(spread.high, wanted.overall_ci95.Pp[1], 1e-8, 'Pp high');
    const nearer = nearerInterval(whole, n);
    expectClose(nearer.low, wanted.overall_ci95.Ppk_normal_approx[0], 1e-8, 'Ppk low');
    expectClose(nearer.high, wanted.overall_ci95.Ppk_normal_approx[1], 1e-8, 'Ppk high');
    expectClose(
      nearerNotBelow(whole, n),
      wanted.overall_ci95.Ppk_nearer_limit_exact_lower95,
      1e-8,
      'Ppk not below',
    );
  });

  it('gives the share outside that a normal characteristic would have, and the tolerance interval', () => {
    const sd = sdOf(diameter);
    const outside = wanted.expected_fraction_outside_normal_overall;
    expectClose(normalLower((specification.low - mean) / sd), outside.below, 1e-9, 'below');
    expectClose(normalLower((mean - specification.high) / sd), outside.above, 1e-9, 'above');
    const interval = normalToleranceInterval({ mean, sd, n: 100 }, 0.95, 0.95);
    const want = wanted.tolerance_interval_95_95_gear;
    expectClose(toleranceFactorTwoSided(100, 0.95, 0.95), want.k2, 1e-8, 'k');
    expectClose(interval.low, want.lower, 1e-8, 'low');
    expectClose(interval.high, want.upper, 1e-8, 'high');
  });
});

describe('constants of control charts', () => {
  it('match datasets/capability-gear within 1e-8', () => {
    for (const { n, c4: mean, d2, d3 } of wanted.constants) {
      if (n > 100) continue;
      expectClose(c4(n), mean, 1e-8, `c4 of ${n}`);
      const got = rangeConstants(n);
      expect(Math.abs(got.d2 - d2), `d2 of ${n}: got ${got.d2}, expected ${d2}`).toBeLessThan(1e-8);
      if (d3 === null) continue;
      expect(Math.abs(got.d3 - d3), `d3 of ${n}: got ${got.d3}, expected ${d3}`).toBeLessThan(1e-8);
    }
  });

  // Printed factors of the usual tables (e-Handbook 6.3.2, any text on control charts); from memory.
  it.each([
    [2, { a2: 1.88, a3: 2.659, b3: 0, b4: 3.267, lowRange: 0, highRange: 3.267, e2: 2.66 }],
    [3, { a2: 1.023, a3: 1.954, b3: 0, b4: 2.568, lowRange: 0, highRange: 2.574, e2: 1.772 }],
    [5, { a2: 0.577, a3: 1.427, b3: 0, b4: 2.089, lowRange: 0, highRange: 2.114, e2: 1.29 }],
    [
      7,
      { a2: 0.419, a3: 1.182, b3: 0.118, b4: 1.882, lowRange: 0.076, highRange: 1.924, e2: 1.109 },
    ],
    [
      10,
      { a2: 0.308, a3: 0.975, b3: 0.284, b4: 1.716, lowRange: 0.223, highRange: 1.777, e2: 0.975 },
    ],
    [
      25,
      { a2: 0.153, a3: 0.606, b3: 0.565, b4: 1.435, lowRange: 0.459, highRange: 1.541, e2: 0.763 },
    ],
  ] as const)('for n = %i agree with the printed three digits', (n, printed) => {
    const got = chartFactors(n);
    for (const [name, value] of Object.entries(printed)) {
      const factor = got[name as keyof typeof printed];
      // Tables divide by d2 and d3 already rounded to three digits, which moves the last one.
      expect(
        Math.abs(factor - value),
        `${name}: got ${factor}, printed ${value}`,
      ).toBeLessThanOrEqual(0.0015);
    }
  });
});

describe('distribution-free tolerance intervals', () => {
  // ISO 16269-6, smallest to largest, two-sided; numbers of readings from memory.
  it.each([
    [0.9, 0.95, 46],
    [0.95, 0.95, 93],
    [0.99, 0.95, 473],
    [0.95, 0.99, 130],
  ])('content %f with confidence %f needs %i readings', (content, confidence, n) => {
    expect(readingsNeeded(content, confidence)).toBe(n);
  });
});
