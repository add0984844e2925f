import {
  blockMeans,
  headCut,
  headCutByFives,
  neededWindow,
  settledStretch,
  varianceRatio,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { autoregressive, logOf, normalSource } from './noise.ts';

const quantile = (x: readonly number[], p: number): number =>
  [...x].sort((a, b) => a - b)[Math.floor(p * x.length)]!;

describe('varianceRatio', () => {
  it.each([
    [0.2, 0.1, [0.77, 1.0, 1.31, 1.43, 1.72]],
    [0.1, 0.1, [0.75, 1.0, 1.35, 1.5, 1.85]],
    [0.05, 0.05, [0.8, 1.0, 1.24, 1.33, 1.53]],
  ] as const)(
    'has the white-noise quantiles of our own simulation, λ₁ = %s',
    (level, other, expected) => {
      // Not published: simulated once with 2·10⁶ values; ±0.05 covers rounding and both simulations.
      const normal = normalSource(99);
      const ratio = varianceRatio({ level, aroundLevel: other, betweenNeighbours: other });
      const seen: number[] = [];
      for (let i = 0; i < 300_000; i++) {
        const r = ratio.push(normal());
        if (i > 500) seen.push(r);
      }
      for (const [k, p] of [0.05, 0.5, 0.9, 0.95, 0.99].entries()) {
        expect(Math.abs(quantile(seen, p) - expected[k]!)).toBeLessThan(0.05);
      }
    },
  );

  it.each([
    [0.3, 1.35],
    [0.6, 2.1],
    [0.9, 4.6],
  ])(
    'is misled by repeating noise, φ = %s, which is why it is fed with turn averages',
    (phi, expected) => {
      const ratio = varianceRatio();
      const seen = [...autoregressive(200_000, phi, normalSource(4))]
        .map((v) => ratio.push(v))
        .slice(500);
      expect(Math.abs(quantile(seen, 0.5) / expected - 1)).toBeLessThan(0.05);
    },
  );

  it('sees a ramp of a tenth of σ a value: median near 2', () => {
    const normal = normalSource(13);
    const ratio = varianceRatio();
    const seen = Array.from({ length: 100_000 }, (_, i) => ratio.push(normal() + 0.1 * i)).slice(
      500,
    );
    expect(Math.abs(quantile(seen, 0.5) - 1.99)).toBeLessThan(0.05);
  });
});

describe('headCut', () => {
  it('cuts what a hand calculation cuts: 8, 4, 1, 1, 1, 1, 1, 1 after two', () => {
    // With d = 2 the rest is constant and the statistic is 0; any smaller d leaves squares.
    expect(headCut(Float64Array.of(8, 4, 1, 1, 1, 1, 1, 1))).toEqual({ kind: 'cut', at: 2 });
  });

  it('says too-short when the best cut is in the last half', () => {
    expect(headCut(Float64Array.from({ length: 20 }, (_, i) => i))).toEqual({ kind: 'too-short' });
  });

  it('keeps everything of a constant series', () => {
    expect(headCut(new Float64Array(10).fill(3))).toEqual({ kind: 'cut', at: 0 });
  });

  it.each([
    [2, 0, 175],
    [8, 0, 355],
    [8, 0.8, 270],
  ])(
    'cuts an exponential transient of %s σ (τ 150 s, φ = %s) near %s s in the median',
    (size, phi, expected) => {
      // Not published: our own earlier simulation. Steps of five and its Monte-Carlo error: ±15 s.
      const normal = normalSource(21);
      const cuts: number[] = [];
      for (let r = 0; r < 600; r++) {
        const cut = headCutByFives(
          autoregressive(900, phi, normal).map((v, i) => v + size * Math.exp(-i / 150)),
        );
        if (cut.kind === 'cut') cuts.push(cut.at);
      }
      expect(Math.abs(quantile(cuts, 0.5) - expected)).toBeLessThanOrEqual(15);
    },
  );
});

describe('blockMeans', () => {
  it('drops the rest and needs half a block', () => {
    const x = Float64Array.of(1, 3, Number.NaN, 4, Number.NaN, Number.NaN, 9);
    expect([...blockMeans(x, 2)]).toEqual([2, 4, Number.NaN]);
  });
});

describe('neededWindow', () => {
  it('is 30 turns at 2 rpm: 15 minutes', () => {
    expect(neededWindow(2, 3)).toEqual({ seconds: 900, because: '30 turns at 2 rpm' });
    expect(neededWindow(10, 3).seconds).toBe(300);
    expect(neededWindow(10, 60).seconds).toBe(600);
  });
});

describe('settledStretch', () => {
  const settledLog = (n: number, seed: number, add: (i: number) => number = () => 0) =>
    logOf(
      autoregressive(n, 0.7, normalSource(seed)).map(
        (v, i) => 1.75 + 0.008 * v + 0.006 * Math.sin((2 * Math.PI * i) / 12) + add(i),
      ),
    );

  it('takes a still strand, in 19 logs of 20', () => {
    const kinds = Array.from(
      { length: 100 },
      (_, r) => settledStretch(settledLog(900, r), { screwRpm: 5 }).kind,
    );
    expect(kinds.filter((k) => k === 'settled').length).toBeGreaterThanOrEqual(95);
  });

  it('cuts the head off a strand that came to rest', () => {
    const result = settledStretch(
      settledLog(1500, 2, (i) => 0.1 * Math.exp(-i / 120)),
      { screwRpm: 5 },
    );
    expect(result.kind).toBe('settled');
    if (result.kind !== 'settled') return;
    expect(result.fromSeconds).toBeGreaterThan(200);
    expect(result.toSeconds).toBe(1499);
    expect(result.why).toMatchInlineSnapshot(
      `"19 min without drift or change of spread (the first 6 min were still moving; 6 min needed: 30 turns at 5 rpm)"`,
    );
  });

  it('says never-settled and the drift of a strand that goes on drifting', () => {
    const result = settledStretch(
      settledLog(1200, 3, (i) => 0.005 * (i / 60)),
      { screwRpm: 5 },
    );
    expect(result.kind).toBe('never-settled');
    if (result.kind !== 'never-settled') return;
    expect(result.driftMmPerMinute).toBeCloseTo(0.005, 2);
    expect(result.says).toMatchInlineSnapshot(
      `"The strand has not settled in 20 min: diameter drifts 4.9 µm a minute. Hold longer, or find what moves."`,
    );
  });

  it('says never-settled when the spread changes half way', () => {
    const normal = normalSource(8);
    const x = Float64Array.from(
      { length: 620 },
      (_, i) => 1.75 + (i < 310 ? 0.004 : 0.02) * normal(),
    );
    const result = settledStretch(logOf(x), { screwRpm: 5 });
    expect(result.kind).toBe('never-settled');
    if (result.kind === 'never-settled') expect(result.says).toContain('spread went from 4');
  });

  it('says too-short and how much longer', () => {
    const result = settledStretch(settledLog(400, 5), { screwRpm: 2 });
    expect(result).toMatchObject({ kind: 'too-short', haveSeconds: 399 });
    if (result.kind === 'too-short')
      expect(result.says).toMatchInlineSnapshot(
        `"The settled part lasts 7 min; 15 min are needed (30 turns at 2 rpm). Measure 8 min longer."`,
      );
  });

  it('uses nothing before zones and flush are done', () => {
    const result = settledStretch(settledLog(1500, 7), { screwRpm: 5, notBeforeSeconds: 600 });
    expect(result).toMatchObject({ kind: 'settled' });
    if (result.kind === 'settled') expect(result.fromSeconds).toBeGreaterThanOrEqual(600);
  });
});
