import {
  expectedGain,
  meanScale,
  nextSteps,
  predictorOf,
  type Recommended,
  recommendation,
  settingsOf,
  surfaceAfter,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { inventedFit } from '../surface/invented-fit.ts';
import { factors, fitsOf, inventedStudy } from './invented-study.ts';

function situation(study: Parameters<typeof inventedStudy>[0], asked = 0.9) {
  const state = inventedStudy(study);
  const predictor = predictorOf(state, fitsOf(state));
  const found = recommendation(predictor, asked);
  if (found.kind !== 'found' && found.kind !== 'nowhere acceptable') throw new Error(found.says);
  return { predictor, found: found as Recommended };
}

describe('surfaceAfter', () => {
  const truth = (x: Record<string, number>) => 0.5 * x['level']! ** 2 + 0.2 * x['screw']!;
  const once = inventedFit({ y: truth }, { sd: 0.2, repeats: 1 }).surfaces[0]!;

  it('law: the same runs again halve the variance everywhere', () => {
    const { source, surfaces } = inventedFit({ y: truth }, { sd: 0.2 });
    const { level, screw } = source.table;
    const again = level!.map((value, i) => ({
      settings: Float64Array.of(Number(value), Number(screw![i])),
      plot: null,
    }));
    const after = surfaceAfter(surfaces[0]!, again, { plotShare: 0 });
    for (const at of [Float64Array.of(0, 0), Float64Array.of(1, -1), Float64Array.of(0.3, 0.8)])
      expect(meanScale(after, at) / meanScale(once, at)).toBeCloseTo(0.5, 9);
    expect(after.belief!.df).toBe(once.belief!.df + again.length);
  });

  it('counts runs of one plot for less than runs set anew, and all of the same for one when all is shared', () => {
    const runs = (plot: number | null, count: number) =>
      Array.from({ length: count }, () => ({ settings: Float64Array.of(0, 0), plot }));
    const at = Float64Array.of(0, 0);
    const left = (plot: number | null, count: number, plotShare: number) =>
      meanScale(surfaceAfter(once, runs(plot, count), { plotShare }), at);
    expect(left(null, 4, 0.5)).toBeLessThan(left(1, 4, 0.5));
    expect(left(1, 40, 0.999)).toBeCloseTo(left(null, 1, 0.999), 3);
  });
});

describe('nextSteps', () => {
  it('lifts what can be promised by more runs, and says for how many hours', () => {
    const { predictor, found } = situation(
      { sd: 0.2, lnBubbles: null, product: { leastPpk: 1.15 }, seed: 1 },
      0.97,
    );
    const steps = nextSteps(predictor, found, { asked: 0.97 });
    const kinds = steps.map(({ kind }) => kind);
    expect(kinds).toContain('replicate');
    expect(kinds).toContain('augment');
    expect(kinds).not.toContain('stop');
    for (const step of steps.filter(({ gain }) => gain !== null)) {
      expect(step.gain!.varianceLeft).toBeLessThan(1);
      expect(step.gain!.chance!.notBelowAfter).toBeGreaterThan(step.gain!.chance!.notBelowBefore);
      expect(step.hours).toBeGreaterThan(0);
      expect(step.grams).toBeGreaterThan(0);
      expect(step.says).toMatch(
        /: \d+\.\d h, \d+\.\d kg\. What is sure of the chance would rise from 0\.\d\d to (0\.\d\d|over 0\.99)\.$/,
      );
    }
    const rates = steps.map(({ perHour }) => perHour);
    expect([...rates].sort((a, b) => b - a)).toEqual(rates);
  });

  it('says stop first when what can be promised reaches what is asked', () => {
    const { predictor, found } = situation({ sd: 0.05, seed: 2 }, 0.8);
    expect(found.chance!.notBelow).toBeGreaterThan(0.8);
    const [first, ...others] = nextSteps(predictor, found, { asked: 0.8 });
    expect(first!.kind).toBe('stop');
    expect(others.map(({ kind }) => kind)).toContain('confirm');
  });

  it('moves a range when the recipe stands at its edge', () => {
    const { predictor, found } = situation({
      lnSd: (x) => Math.log(0.02) - 0.5 * x['fan']!,
      sd: 0.08,
      lnBubbles: null,
    });
    expect(found.onEdge).toContain('fan');
    const steps = nextSteps(predictor, found, { asked: 0.9 });
    const shift = steps.find(({ kind }) => kind === 'shift range')!;
    // The fan ends at 100 %, 20 above its range.
    expect(shift.says).toMatch(/^Move fan to 40 … 100 %/);
    expect(shift.addition).toMatchObject({ kind: 'move range', factor: 'fan', low: 40, high: 100 });
    expect(shift.perHour).toBeGreaterThan(0);
  });

  it('names the gauge when the spread is mostly its own', () => {
    const { predictor, found } = situation({
      lnSd: (x) => Math.log(0.0043) + 0.1 * x['level']!,
      sd: 0.05,
      product: { leastPpk: 4 },
      lnBubbles: null,
    });
    const gauge = nextSteps(predictor, found, { asked: 0.9 }).find(
      ({ kind }) => kind === 'mend the gauge',
    );
    expect(gauge?.says).toContain('gauge');
  });

  it('sets zone settings up again in a split plot', () => {
    const { predictor, found } = situation({ plotCells: 3, plotSd: 0.15, repeats: 1 }, 0.97);
    const replicate = nextSteps(predictor, found, { asked: 0.97 }).find(
      ({ kind }) => kind === 'replicate',
    )!;
    expect(replicate.says).toContain('2 zone settings');
    expect(replicate.cells).toBe(6);
    const at = settingsOf(found.coded, factors);
    const none = expectedGain(predictor, at, []);
    expect(none.varianceLeft).toBeCloseTo(1, 12);
    expect(none.chance!.after).toBeCloseTo(none.chance!.before, 12);
  });
});
