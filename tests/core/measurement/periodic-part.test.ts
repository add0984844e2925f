import { periodicParts } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { autoregressive, normalSource } from './noise.ts';

const wave =
  (periodSeconds: number, amplitude: number, phase = 0) =>
  (i: number): number =>
    amplitude * Math.sin((2 * Math.PI * i) / periodSeconds + phase);

describe('periodicParts', () => {
  it('finds a 0.083 Hz ripple of 5 µm under 10 µm noise in ten minutes, in 19 logs of 20', () => {
    const normal = normalSource(12);
    let found = 0;
    for (let r = 0; r < 100; r++) {
      const ripple = wave(12, 5, r);
      const x = autoregressive(600, 0, normal).map((v, i) => 10 * v + ripple(i));
      const [first] = periodicParts(x, 1, { turning: { screwRpm: 5 } }).parts;
      if (first?.cause === 'screw' && Math.abs(first.periodSeconds - 12) < 0.1) found++;
    }
    expect(found).toBeGreaterThanOrEqual(95);
  });

  it('raises no more false alarms than stated on 1,000 clean logs', () => {
    const normal = normalSource(2024);
    let alarms = 0;
    for (let r = 0; r < 1000; r++) {
      const phi = [0, 0.3, 0.6, 0.8, 0.9][r % 5]!;
      if (periodicParts(autoregressive(600, phi, normal), 1).parts.length > 0) alarms++;
    }
    expect(alarms).toBeLessThanOrEqual(10);
  });

  it('names several waves in one log, the clearest first, with amplitudes', () => {
    const normal = normalSource(5);
    const x = autoregressive(1800, 0.3, normal).map(
      (v, i) => 5 * v + wave(12, 15)(i) + wave(188, 9)(i) + wave(25, 6)(i),
    );
    const { parts, says } = periodicParts(x, 1, {
      turning: { screwRpm: 5, deadTimeSeconds: 47, spoolTurnSeconds: 25 },
    });
    expect(new Set(parts.map((p) => p.cause))).toEqual(new Set(['screw', 'puller-loop', 'spool']));
    const chances = parts.map((p) => p.falseAlarmProbability);
    expect(chances).toEqual([...chances].sort((a, b) => a - b));
    expect(parts[0]!.amplitude).toBeGreaterThan(14);
    expect(parts[0]!.amplitude).toBeLessThan(16);
    expect(says).toMatchInlineSnapshot(
      `"A wave of 12 s comes once a screw turn: feeding or melting surges. Look at the hopper and the feed zone; the puller loop cannot take it out. A wave of 25 s comes once a spool turn: the spooler tugs at the strand. Look at its tension and guide. A wave of 3 min is about four times the 47 s from die to gauge: the puller loop hunts. Lower its gain, or move the gauge nearer to the die."`,
    );
  });

  it('is not misled by a straight drift', () => {
    const normal = normalSource(6);
    const x = autoregressive(600, 0.5, normal).map((v, i) => v + 0.02 * i);
    expect(periodicParts(x, 1).parts).toEqual([]);
  });

  it('folds a fast roller down to where it shows', () => {
    const normal = normalSource(9);
    // 0.9 turns a second read once a second shows at 0.1 Hz.
    const x = autoregressive(600, 0, normal).map((v, i) => v + Math.sin(2 * Math.PI * 0.9 * i));
    const { parts } = periodicParts(x, 1, { turning: { pullerRollerTurnSeconds: 1 / 0.9 } });
    expect(parts[0]).toMatchObject({ cause: 'puller-roller' });
    expect(parts[0]!.periodSeconds).toBeCloseTo(10, 1);
  });

  it('says so when there is nothing', () => {
    const x = autoregressive(600, 0.6, normalSource(1));
    expect(periodicParts(x, 1).says).toBe(
      'no wave stands out of the noise (at 1 % false alarms a log)',
    );
  });
});
