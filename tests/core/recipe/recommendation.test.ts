import {
  acceptableWindow,
  brokenConstraints,
  codedPoint,
  gammaLower,
  keepingProbability,
  largestBox,
  linearLimits,
  noCorrelation,
  nothingCounted,
  pointFromSettings,
  pointOf,
  predictorOf,
  type Recommended,
  recommendation,
  setPointsOf,
  setPointWander,
  settingsOf,
  studyDefaults,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { factors, fitsOf, inventedStudy, line } from './invented-study.ts';

function recommended(study: Parameters<typeof inventedStudy>[0] = {}, asked = 0.9): Recommended {
  const state = inventedStudy(study);
  const found = recommendation(predictorOf(state, fitsOf(state)), asked);
  if (found.kind !== 'found' && found.kind !== 'nowhere acceptable') throw new Error(found.says);
  return found;
}

describe('recommendation', () => {
  it('is the centre of a window that keeps the chance, with room for every set point', () => {
    const state = inventedStudy();
    const predictor = predictorOf(state, fitsOf(state));
    const found = recommendation(predictor, 0.9);
    if (found.kind !== 'found') throw new Error(found.kind);
    expect(found.shortfall).toBeNull();
    expect(found.chance!.probability).toBeGreaterThan(0.9);
    expect(found.chance!.notBelow).toBeLessThanOrEqual(found.chance!.probability);
    expect(found.chance!.notBelow).toBeGreaterThan(0.3);
    expect(found.setPointWindow!.map(({ setPoint }) => setPoint)).toEqual([
      'feed',
      'middle',
      'metering',
      'die',
      'screw',
      'fan',
    ]);
    expect(found.setPointWindow!.every(({ hasMargin }) => hasMargin)).toBe(true);
    // The whole model, not the draft that searched, agrees on the corners of the joint box.
    const ends = found.window!.map(({ together }) => together);
    for (let mask = 0; mask < 8; mask++) {
      const natural = Object.fromEntries(
        found.window!.map(({ factor }, f) => [factor, ends[f]![(mask >> f) & 1]!]),
      );
      const at = settingsOf(codedPoint(natural, factors), factors);
      expect(predictor.conformance!.at(at).probability).toBeGreaterThan(0.885);
    }
    for (const { alone, together, at, studied } of found.window!) {
      expect(alone[0]).toBeLessThanOrEqual(together[0] + 1e-9);
      expect(alone[1]).toBeGreaterThanOrEqual(together[1] - 1e-9);
      expect(together[0]).toBeLessThanOrEqual(at);
      expect(studied[0]).toBeLessThanOrEqual(alone[0] + 1e-9);
    }
    expect(brokenConstraints(found.coded, predictor.constraints)).toEqual([]);
  });

  it('repeats for a seed', () => {
    expect(recommended()).toEqual(recommended());
  });

  it('keeps nearly the desirability of the winner that stands beside it', () => {
    const { joint, winner, probability } = recommended();
    expect(joint.joint).toBeGreaterThan(0.85 * winner.joint.joint);
    expect(winner.probability).not.toBeNull();
    expect(probability).toBeGreaterThanOrEqual(0.9);
  });

  it('says "not with these data" and that the process binds when the scatter forbids it', () => {
    const found = recommended({ product: { leastPpk: 3 } });
    expect(found.window).toBeNull();
    expect(found.shortfall).toMatchObject({
      kind: 'not with these data',
      cause: 'process',
      asked: 0.9,
    });
    expect(found.shortfall!.binding).toContain('SD of diameter');
    expect(found.shortfall!.best).toBeLessThan(0.9);
  });

  it('says that doubt binds when the estimates, if true, would do', () => {
    const found = recommended(
      { sd: 0.2, lnBubbles: null, product: { leastPpk: 1.15 }, seed: 1 },
      0.97,
    );
    expect(found.shortfall?.cause).toBe('doubt');
    expect(found.shortfall!.says).toContain('more runs');
  });

  it('recommends from a split plot by its exact posterior', () => {
    const found = recommended({ plotCells: 3, plotSd: 0.1, repeats: 2 });
    expect(found.chance!.probability).toBeGreaterThan(0.7);
    expect(found.predictions[0]!.next.low).toBeGreaterThan(0);
  });

  it('counts bubbles of which not one was seen', () => {
    const state = inventedStudy({ lnBubbles: () => -30 });
    const predictor = predictorOf(state, fitsOf(state));
    expect(predictor.judged.map(({ requirement }) => requirement.response)).toEqual([
      'SD of diameter',
      'bubbles',
    ]);
    expect(predictor.unjudged).toEqual([]);
  });

  it('names the requirement that nothing measured can judge', () => {
    const state = inventedStudy({ lnBubbles: null });
    expect(predictorOf(state, fitsOf(state)).unjudged.map(({ response }) => response)).toEqual([
      'bubbles',
    ]);
  });

  it('lets failed cells pull the recipe away from where no strand forms', () => {
    const fails = (x: Record<string, number>) => (x['level']! < -0.5 ? ('cold' as const) : null);
    const found = recommended({ fails, lnSd: (x) => Math.log(0.008) + 0.3 * x['level']! });
    expect(found.strandForms).toBeGreaterThan(0.7);
    expect(Number(found.coded['level'])).toBeGreaterThan(-0.8);
  });
});

describe('setPointWander', () => {
  it('turns one zone into level, tilt and hump by the contrasts of four zones', () => {
    const profile = [
      { name: 'level', low: 190, high: 210, changes: 'hard' as const, acts: 'level' as const },
      { name: 'tilt', low: 0, high: 20, changes: 'hard' as const, acts: 'tilt' as const },
      { name: 'hump', low: 0, high: 20, changes: 'hard' as const, acts: 'hump' as const },
    ];
    const at = {
      zonesCelsius: [180, 196.667, 203.333, 200],
      screwRpm: 5,
      fanPercent: 50,
      other: {},
    };
    const wander = setPointWander(at, { factors: profile, line }, { zoneCelsius: 2 });
    // L = ΣT/4, t = 0.9(T₄ − T₁) + 0.3(T₃ − T₂), h = ½(−T₁ + T₂ + T₃ − T₄); 2 °C on a half-range of 10.
    const shifts = wander.axes.slice(0, 4).map(({ shift }) => Array.from(shift));
    const wanted = [
      [0.25, -0.9, -0.5],
      [0.25, -0.3, 0.5],
      [0.25, 0.3, 0.5],
      [0.25, 0.9, -0.5],
    ];
    for (const [zone, row] of wanted.entries())
      for (const [f, value] of row.entries()) expect(shifts[zone]![f]).toBeCloseTo(value * 0.2, 6);
    expect(Array.from(wander.axes[4]!.shift)).toEqual([0, 0, 0]);
  });

  it('law: a drifted set point makes the point that its axis foretells', () => {
    const state = inventedStudy();
    const base = setPointsOf(
      { level: 195, screw: 4.5, fan: 50 },
      factors,
      line,
      studyDefaults(state),
    );
    const { axes } = setPointWander(base, { factors, line });
    const moved = { ...base, screwRpm: base.screwRpm + 0.1, fanPercent: base.fanPercent + 5 };
    const from = settingsOf(codedPoint(pointOf(base, factors, line), factors), factors);
    const to = settingsOf(codedPoint(pointOf(moved, factors, line), factors), factors);
    const [screw, fan] = ['screw', 'fan'].map((name) => axes.find((axis) => axis.name === name)!);
    for (let i = 0; i < 3; i++)
      expect(to[i]! - from[i]!).toBeCloseTo(screw!.shift[i]! + fan!.shift[i]!, 9);
  });
});

describe('nothingCounted', () => {
  it.each([2, 3, 20, 200])('is close to the exact gamma posterior after %s m', (metres) => {
    const surface = nothingCounted('bubbles', metres, factors)!;
    const requirement = { response: 'bubbles', atMost: 1, says: '' };
    const chance = keepingProbability({ surface, requirement }, new Float64Array(3))!;
    // Exact: rate ~ gamma(½) over metres.
    expect(Math.abs(chance - gammaLower(metres, 0.5))).toBeLessThan(0.01);
    expect(noCorrelation(['bubbles']).matrix[0]).toBe(1);
  });
});

describe('largestBox and acceptableWindow', () => {
  const limits = linearLimits(factors, []);
  const base = { factors, limits, asked: 0.9, seed: 1 };
  const axes = [0, 1, 2].map((i) => Float64Array.from({ length: 3 }, (_, j) => (i === j ? 1 : 0)));

  it('finds a box of known centre and widths', () => {
    const centre = [0.3, -0.2, 0];
    const widths = [0.4, 0.3, 0.6];
    const probability = (x: Float64Array) =>
      1 - 0.1 * Math.max(...centre.map((c, i) => Math.abs(x[i]! - c) / widths[i]!));
    const found = largestBox({ ...base, probability });
    if (found.kind !== 'found') throw new Error(found.kind);
    for (let i = 0; i < 3; i++) {
      expect(Math.abs(found.centre[i]! - centre[i]!)).toBeLessThan(0.06);
      expect(found.halfWidths[i]!).toBeGreaterThan(0.85 * widths[i]! - 0.02);
      expect(found.halfWidths[i]!).toBeLessThan(widths[i]! + 1e-6);
    }
  });

  it('finds the cube inside a ball: half-width r/√3', () => {
    const probability = (x: Float64Array) =>
      1 - (0.1 * Math.hypot(x[0]! - 0.1, x[1]!, x[2]!)) / 0.8;
    const found = largestBox({ ...base, probability });
    if (found.kind !== 'found') throw new Error(found.kind);
    const volume = found.halfWidths.reduce((product, w) => product * w, 1);
    expect(volume).toBeGreaterThan(0.85 * (0.8 / Math.sqrt(3)) ** 3);
    expect(volume).toBeLessThanOrEqual((0.8 / Math.sqrt(3)) ** 3 + 1e-9);
  });

  it('tells the best place when nothing keeps the probability, and when nothing is allowed', () => {
    const probability = (x: Float64Array) => 0.5 - 0.1 * Math.hypot(x[0]! - 0.5, x[1]!, x[2]!);
    const found = largestBox({ ...base, probability });
    if (found.kind !== 'nowhere') throw new Error(found.kind);
    expect(found.probability).toBeGreaterThan(0.49);
    expect(found.best[0]).toBeCloseTo(0.5, 1);
    const shut = linearLimits(factors, [{ coefficients: { level: 1 }, atMost: -2, says: 'shut' }]);
    expect(largestBox({ ...base, limits: shut, probability }).kind).toBe('nothing feasible');
  });

  it('law: every place in the joint box keeps the probability of a bending region', () => {
    const probability = (x: Float64Array) =>
      1 - 0.1 * (x[0]! ** 2 * 2 + x[1]! ** 2 + 0.5 * x[2]! ** 2 + 0.3 * x[0]! * x[1]!);
    const window = acceptableWindow({
      centre: Float64Array.of(0.1, 0, -0.2),
      probability,
      limits,
      asked: 0.9,
      axes,
    })!;
    expect(window.worst).toBeGreaterThanOrEqual(0.9);
    for (let i = 0; i < 400; i++) {
      const at = Float64Array.of(0.1, 0, -0.2).map((c, f) => {
        const { low, high } = window.together[f]!;
        return c + low + ((high - low) * (((i + 1) * [7, 11, 13][f]!) % 41)) / 40;
      });
      expect(probability(at)).toBeGreaterThan(0.9 - 1e-9);
    }
    expect(
      acceptableWindow({ centre: Float64Array.of(1, 1, 1), probability, limits, asked: 0.9, axes }),
    ).toBeNull();
    expect(pointFromSettings(Float64Array.of(0, 0, 0), factors)).toEqual({
      level: 0,
      screw: 0,
      fan: 0,
    });
  });
});
