import { confirmationHold, holdFor, Line, type SetPoints, settleSeconds } from '@strandwise/core';
import { describe, expect, it } from 'vitest';

const line = Line.parse({
  name: 'bench line',
  zones: [1, 2, 3, 4].map((i) => ({ name: `zone ${i}`, heaterLimitCelsius: 350 })),
  screw: {},
});
const at = (offset: number, screwRpm = 5, fanPercent = 50): SetPoints => ({
  zonesCelsius: [180, 197, 203, 200].map((celsius) => celsius + offset),
  screwRpm,
  fanPercent,
  other: {},
});
const minutes = (seconds: number) => Math.round(seconds / 60);

describe('settleSeconds', () => {
  // Closed form of d(gap)/dt = −min(r, gap/τ) with τ = 90 s, to within 1 °C; rates are common
  // practice for benchtop barrels (no source). The same figures come from integrating the equation.
  it.each([
    [5, 2.4, 2.4],
    [10, 3.5, 3.8],
    [20, 4.5, 6.6],
    [40, 6.2, 12.1],
  ])('takes for %d °C %f min heating and %f min cooling', (step, heating, cooling) => {
    expect(Math.abs(settleSeconds(step, 0.2, 90, 1) / 60 - heating)).toBeLessThan(0.06);
    expect(Math.abs(settleSeconds(-step, 0.06, 90, 1) / 60 - cooling)).toBeLessThan(0.06);
  });

  it('agrees with stepwise integration of the rate-limited lag', () => {
    for (const [step, rate] of [
      [3, 0.2],
      [17, 0.2],
      [35, 0.06],
      [1.5, 0.005],
    ] as const) {
      let gap = step as number;
      let seconds = 0;
      while (gap > 1) {
        gap -= Math.min(rate, gap / 90) * 0.01;
        seconds += 0.01;
      }
      expect(Math.abs(settleSeconds(step, rate, 90, 1) - seconds)).toBeLessThan(0.2);
    }
  });

  it('is 0 within the tolerance', () => {
    expect(settleSeconds(0.8, 0.2, 90, 1)).toBe(0);
  });
});

describe('holdFor', () => {
  it.each([
    [10, 16],
    [20, 21],
    [-20, 21],
    [-40, 25],
  ])('waits after %d °C on every zone %d min', (step, want) => {
    const hold = holdFor({ from: at(0), to: at(step), line });
    expect(minutes(hold.seconds)).toBe(want);
    expect(hold.underFlushed).toBe(false);
    expect(hold.barrelVolumes).toBeCloseTo(1, 6);
  });

  it('waits about 5 min after a change of fan', () => {
    const hold = holdFor({ from: at(0, 5, 30), to: at(0, 5, 50), line });
    expect(hold.seconds / 60).toBeGreaterThan(4);
    expect(hold.seconds / 60).toBeLessThan(5.5);
    expect(hold.binding).toBe('transport');
    expect(hold.parts.flush).toBe(0);
  });

  it('waits 6 to 11 min from 5 to 8 rpm, by the flush wanted, and 20 min from 5 to 2.5 rpm', () => {
    // The study flush alone is 6.3 min; with 1.7 barrel volumes it is 10.7 min.
    expect(holdFor({ from: at(0), to: at(0, 8), line }).seconds / 60).toBeCloseTo(6.3, 1);
    const confirming = holdFor({ from: at(0), to: at(0, 8), line, rule: confirmationHold });
    expect(confirming.seconds / 60).toBeCloseTo(10.7, 1);
    const slow = holdFor({ from: at(0), to: at(0, 2.5), line });
    expect(minutes(slow.seconds)).toBe(20);
    expect(slow.binding).toBe('barrel flush');
  });

  it('names what binds', () => {
    const steps = (change: number[]) => ({
      ...at(0),
      zonesCelsius: at(0).zonesCelsius.map((celsius, i) => celsius + change[i]!),
    });
    const fast = { ...line, outputCm3PerTurn: 8 };
    const bindings = [
      holdFor({ from: at(0), to: steps([0, 0, 40, 0]), line: fast }).binding,
      holdFor({ from: at(0), to: steps([0, 0, 0, -35]), line: fast }).binding,
      holdFor({ from: at(0), to: at(40), line: fast }).binding,
      holdFor({ from: at(0), to: at(2), line: fast }).binding,
    ];
    expect(bindings).toEqual(['shortest hold', 'zone 4 cooling', 'screw core', 'shortest hold']);
    const loop = { ...line, dieToGaugeMm: 3000, dieToPullerMm: 100 };
    expect(holdFor({ from: at(0, 5, 0), to: at(0), line: loop }).binding).toBe('puller loop');
    const impatient = { ...fast, shortestHold: { zoneChangeMinutes: 0, otherChangeMinutes: 0 } };
    expect(holdFor({ from: at(0), to: steps([0, 0, 40, 0]), line: impatient }).binding).toBe(
      'zone 3 heating',
    );
  });

  it('never waits less than the shortest hold', () => {
    const fast = { ...line, outputCm3PerTurn: 8 };
    expect(holdFor({ from: at(0), to: at(1), line: fast }).seconds).toBe(600);
    expect(holdFor({ from: at(0), to: at(0, 5, 55), line: fast }).seconds).toBe(180);
  });

  it('marks cells that a flat rule leaves under-flushed', () => {
    const rule = { kind: 'flat', zoneChangeMinutes: 10, otherChangeMinutes: 3 } as const;
    const zone = holdFor({ from: at(0), to: at(20), line, rule });
    expect(zone.seconds).toBe(600);
    expect(zone.underFlushed).toBe(true);
    // 600 s less 10.7 min of settling leaves nothing.
    expect(zone.barrelVolumes).toBe(0);
    const quick = holdFor({ from: at(0), to: at(3, 10), line, rule });
    expect(quick.underFlushed).toBe(false);
    const fan = holdFor({ from: at(0), to: at(0, 5, 80), line, rule });
    expect([fan.seconds, fan.underFlushed]).toEqual([180, false]);
  });

  it('counts no material while a cold line heats and soaks', () => {
    const from = { kind: 'cold', roomCelsius: 23, soakMinutes: 20 } as const;
    const hold = holdFor({ from, to: at(0), line });
    expect(hold.parts.thermal / 60).toBeGreaterThan(35);
    expect(hold.seconds).toBeGreaterThan(hold.pumpedSeconds);
    expect(hold.pumpedSeconds / 60).toBeCloseTo(10.07, 1);
  });

  it('flushes before the first cell of a ready line', () => {
    const hold = holdFor({ from: { kind: 'ready' }, to: at(0), line });
    expect(minutes(hold.seconds)).toBe(10);
    expect(hold.parts.thermal).toBe(0);
  });
});
