import {
  c4,
  certifiedSpool,
  freeToleranceInterval,
  type GaugeLog,
  individualsChart,
  orderConfidence,
  SpoolCertificate,
  seededUniform,
  signals,
  spoolLength,
  standardNormal,
  subgroupChart,
  type Uniform,
  usualAcceptance,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const product = {
  diameterMm: 1.75,
  toleranceMm: 0.05,
  mostBubblesPerMetre: 1,
  leastOutputKgPerHour: 0,
  leastPpk: 1,
};
const words = {
  spool: '1',
  grade: 'PX-31 (invented)',
  lot: null,
  line: 'bench line',
  study: null,
  recipeVersion: null,
  invented: true,
  at: '2026-01-05T08:00:00.000Z',
  by: 'tester',
  log: { sha256: '0'.repeat(64), name: 'spool.csv', bytes: 1 },
};

/** AR(1) readings of one a second about 1.75 mm. */
function readings(
  n: number,
  {
    sd = 0.01,
    phi = 0.5,
    seed = 1,
    drift = 0,
  }: { sd?: number; phi?: number; seed?: number; drift?: number } = {},
): Float64Array {
  const uniform: Uniform = seededUniform(seed, 'spool');
  const out = new Float64Array(n);
  let state = standardNormal(uniform);
  for (let i = 0; i < n; i++) {
    state = phi * state + Math.sqrt(1 - phi * phi) * standardNormal(uniform);
    out[i] = 1.75 + sd * state + (drift * i) / n;
  }
  return out;
}
const logOf = (diameterMm: Float64Array, speed = 15): GaugeLog => ({
  seconds: Float64Array.from(diameterMm, (_, i) => i),
  diameterMm,
  pullerMmPerSecond: diameterMm.map(() => speed),
});
const limits = usualAcceptance(product);
const certified = (log: GaugeLog) =>
  certifiedSpool({ log, limits, words, screwRpm: 0 }).certificate;

describe('certifiedSpool', () => {
  it('accepts a steady spool, in control, and keeps to its own schema', () => {
    const certificate = certified(logOf(readings(12_000)));
    expect(SpoolCertificate.parse(certificate)).toEqual(certificate);
    expect(certificate.metres).toBeCloseTo(11_999 * 0.015, 6);
    expect(certificate.capability.kind).toBe('in control');
    expect(certificate.accepted).toBe(true);
    expect(certificate.cannotSay).toEqual(['Bubbles: none were counted for this spool.']);
    expect(certificate.performance.nearer.low).toBeLessThan(certificate.performance.nearer.value);
  });

  it('quotes no capability for a spool that drifts, and says why', () => {
    const certificate = certified(logOf(readings(12_000, { drift: 0.03, sd: 0.006 })));
    expect(certificate.capability).toMatchObject({ kind: 'not in control' });
    expect(certificate.capability.says).toMatch(/mean/);
    expect(certificate.performance.spread.value).toBeGreaterThan(0);
  });

  it('rejects with every reason at once', () => {
    const diameter = readings(8_000, { sd: 0.03 }).map((value) => value + 0.02);
    const { accepted, reasons } = certified(logOf(diameter));
    expect(accepted).toBe(false);
    expect(reasons.length).toBeGreaterThanOrEqual(4);
    expect(reasons.join(' ')).toMatch(/off target.*Ppk.*outside/s);
  });

  it('counts repeated readings as fewer: wider intervals for a slower process, the same SD', () => {
    const width = (phi: number): number => {
      const { low, high } = certified(logOf(readings(12_000, { phi }))).performance.nearer;
      return high - low;
    };
    expect(width(0.95)).toBeGreaterThan(2 * width(0));
  });

  it('says what it cannot when the log has no puller speed', () => {
    const { seconds, diameterMm } = logOf(readings(6_000));
    const certificate = certified({ seconds, diameterMm });
    expect(certificate.metres).toBeNull();
    expect(certificate.cannotSay.join(' ')).toContain('no puller speed');
  });

  it('covers Ppk with its interval at about the stated rate when readings repeat', () => {
    // True Ppk 0.05/(3·0.01) = 1.667; 95 % intervals; 120 spools: 3 SE of the rate are 0.06.
    const truth = 0.05 / 0.03;
    let covered = 0;
    let notBelow = 0;
    for (let seed = 1; seed <= 120; seed++) {
      const { performance } = certified(logOf(readings(3_000, { phi: 0.8, seed })));
      const { spread } = performance;
      if (spread.low <= truth && truth <= spread.high) covered++;
      if (performance.nearerNotBelow <= truth) notBelow++;
    }
    expect(covered / 120).toBeGreaterThan(0.88);
    expect(notBelow / 120).toBeGreaterThan(0.88);
  });
});

describe('spoolLength', () => {
  const limitsMm = { low: 1.7, high: 1.8 };

  it('places a bad piece by metre and joins its readings', () => {
    const diameter = new Float64Array(100).fill(1.75);
    diameter.set([1.82, 1.85, 1.81], 40);
    diameter[70] = 1.69;
    const length = spoolLength(logOf(diameter, 20), limitsMm)!;
    expect(length.bad).toHaveLength(2);
    expect(length.bad[0]).toMatchObject({ worstMm: 1.85 });
    expect(length.bad[0]!.fromMetre).toBeCloseTo(0.8, 12);
    expect(length.bad[0]!.toMetre).toBeCloseTo(0.86, 12);
    expect(length.metres).toBeCloseTo(1.98, 12);
  });

  it('counts what the gauge did not read', () => {
    const diameter = new Float64Array(100).fill(1.75).fill(Number.NaN, 10, 20);
    expect(spoolLength(logOf(diameter, 20), limitsMm)!.unreadMetres).toBeCloseTo(0.2, 12);
  });

  it('law: bad pieces lie in order inside the spool, and their metres are those of bad readings', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 2 }), { minLength: 2, maxLength: 200 }),
        (codes) => {
          const diameter = Float64Array.from(codes, (code) => [1.75, 1.65, 1.85][code]!);
          const { bad, metres } = spoolLength(logOf(diameter, 10), limitsMm)!;
          let last = 0;
          let total = 0;
          for (const { fromMetre, toMetre } of bad) {
            expect(fromMetre).toBeGreaterThanOrEqual(last);
            last = toMetre;
            total += toMetre - fromMetre;
          }
          expect(last).toBeLessThanOrEqual(metres + 1e-12);
          const wanted = codes.slice(0, -1).filter((code) => code > 0).length * 0.01;
          expect(total).toBeCloseTo(wanted, 9);
        },
      ),
      { seed: 3, numRuns: 200 },
    );
  });
});

describe('subgroupChart', () => {
  it('calls a process in control as often as stated, however much readings repeat', () => {
    let wrong = 0;
    for (let seed = 1; seed <= 80; seed++) {
      const chart = subgroupChart(readings(6_000, { phi: 0.8, seed }), 120);
      if (chart.kind !== 'in control') wrong++;
    }
    // Three looks at 1 % each, and limits that are themselves estimated.
    expect(wrong / 80).toBeLessThan(0.13);
  });

  it('judges nothing from a short log', () => {
    expect(subgroupChart(readings(1_000), 120)).toMatchObject({ kind: 'too short', subgroups: 8 });
  });

  it('sees a change of spread', () => {
    const x = readings(6_000, { phi: 0.3 });
    for (let i = 3_000; i < 6_000; i++) x[i] = 1.75 + 2.5 * (x[i]! - 1.75);
    expect(subgroupChart(x, 120)).toMatchObject({
      kind: 'not in control',
      says: expect.stringContaining('spread'),
    });
  });
});

describe('individualsChart', () => {
  // Flow rates of NIST/SEMATECH e-Handbook 6.3.2.2: mean 50.81 and mean moving range 1.8778 give limits
  // 45.8185 and 55.8041 in the handbook's example (read from memory, then recomputed).
  it('gives the limits of the handbook example of ten batches', () => {
    const values = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    const chart = individualsChart(values);
    expect(chart.individuals.centre).toBeCloseTo(50.81, 10);
    expect(chart.ranges.centre).toBeCloseTo(1.8778, 4);
    // The handbook divides by 1.128; d2 unrounded moves the limit in the third decimal.
    expect(chart.individuals.high).toBeCloseTo(55.8041, 2);
    expect(chart.individuals.low).toBeCloseTo(45.8159, 2);
    expect(chart.ranges.high).toBeCloseTo(3.267 * 1.8778, 2);
  });

  it('sets limits by the first spools only when told to, and flags what moves away', () => {
    const values = [...Array.from({ length: 20 }, (_, i) => 10 + (i % 2)), 30];
    const chart = individualsChart(values, { baseline: 20 });
    expect(chart.signals.map(({ at, rule }) => [at, rule])).toContainEqual([
      20,
      'one beyond three sigma',
    ]);
    expect(chart.jumps).toEqual([20]);
  });
});

describe('signals', () => {
  const of = (values: number[]) =>
    signals(values, { centre: 0, sigma: 1 }).map(({ at, rule }) => `${at} ${rule}`);
  it.each([
    [[0, 3.1], ['1 one beyond three sigma']],
    [[2.1, 0, 2.1], ['2 two of three beyond two sigma']],
    [[2.1, 0, -2.1], []],
    [[1.1, 1.1, 0, 1.1, 1.1], ['4 four of five beyond one sigma']],
    [[0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1], ['7 eight in a row on one side']],
    [[0.1, 0.1, 0.1, 0.1, -0.1, 0.1, 0.1, 0.1], []],
    [[2.1, 2.1, 0], ['1 two of three beyond two sigma']],
  ])('%j gives %j', (values, wanted) => {
    expect(of(values)).toEqual(wanted);
  });
});

describe('freeToleranceInterval', () => {
  it('holds its content at least as often as stated', () => {
    const uniform = seededUniform(9, 'free');
    let held = 0;
    for (let trial = 0; trial < 400; trial++) {
      const sample = Float64Array.from({ length: 200 }, () => uniform()).sort();
      const interval = freeToleranceInterval(sample, 200, { content: 0.95, confidence: 0.9 });
      if (interval.kind !== 'interval') throw new Error('too few');
      if (interval.high - interval.low >= 0.95) held++;
    }
    // Three standard errors below 0.9.
    expect(held / 400).toBeGreaterThan(0.9 - 3 * Math.sqrt(0.09 / 400));
  });

  it('says how many are needed when there are too few', () => {
    const sample = Float64Array.from({ length: 50 }, (_, i) => i);
    expect(freeToleranceInterval(sample, 50, { content: 0.95, confidence: 0.95 })).toMatchObject({
      kind: 'too few',
      needed: 93,
    });
  });

  it('law: confidence falls as the order statistics move inwards', () => {
    for (let r = 1; r < 10; r++)
      expect(orderConfidence(300, r + 1, 0.95)).toBeLessThan(orderConfidence(300, r, 0.95));
  });
});

describe('c4', () => {
  it('law: rises towards 1, whole and broken sizes alike', () => {
    fc.assert(
      fc.property(fc.double({ min: 1.1, max: 500, noNaN: true }), (n) => {
        expect(c4(n)).toBeLessThan(1);
        expect(c4(n + 0.5)).toBeGreaterThan(c4(n));
      }),
      { seed: 4 },
    );
  });

  it('throws sample_too_small at 1', () => {
    expect(() => c4(1)).toThrow(expect.objectContaining({ code: 'sample_too_small' }));
  });
});
