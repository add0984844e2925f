import { betterEnd, SurfaceReport, surfaceReport } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { inventedFit } from './invented-fit.ts';

const bowl = inventedFit(
  { y: ({ level, screw }) => 2 * (level! - 0.3) ** 2 + 0.5 * (screw! + 0.2) ** 2 + 5 },
  { sd: 0.02, repeats: 2 },
);
const report = (aim: 'smallest' | 'largest' = 'smallest') =>
  surfaceReport({ surface: bowl.surfaces[0]!, factors: bowl.factors, aim, seed: 1 });

describe('betterEnd', () => {
  it('is the larger chance of passing, and what a goal says before all', () => {
    expect(betterEnd({ kind: 'pass-fail' })).toBe('largest');
    expect(betterEnd({ kind: 'spread' })).toBe('smallest');
    expect(betterEnd({ kind: 'continuous', goal: { aim: 'largest', low: 1, target: 2 } })).toBe(
      'largest',
    );
  });
});

describe('surfaceReport', () => {
  it('is the JSON that it promises', () => {
    expect(SurfaceReport.parse(JSON.parse(JSON.stringify(report())))).toEqual(report());
  });

  it('shares out the variance of an additive bowl as its polynomial has it', () => {
    // Over −1 … 1 the variance of a(x − c)² is a²(4/45 + 4c²/3), by hand.
    const [level, screw] = [4 * (4 / 45 + (4 * 0.09) / 3), 0.25 * (4 / 45 + (4 * 0.04) / 3)];
    for (const { factor, alone, total } of report().shares) {
      const wanted = (factor === 'level' ? level : screw) / (level + screw);
      expect(Math.abs(alone - wanted)).toBeLessThan(0.02);
      expect(Math.abs(total - wanted)).toBeLessThan(0.02);
    }
  });

  it('encloses the level point', () => {
    const { region } = report();
    expect(region.kind).toBe('region');
    const [level, screw] = ['level', 'screw'].map(
      (name) => region.stretches.find(({ factor }) => factor === name)!,
    );
    expect(level!.low).toBeLessThan(0.3);
    expect(level!.high).toBeGreaterThan(0.3);
    expect(screw!.low).toBeLessThan(-0.2);
    expect(screw!.high).toBeGreaterThan(-0.2);
  });

  it('leads along the ridge to the bottom and straight on by the slopes', () => {
    const [ridge, steepest] = report().paths;
    expect([ridge!.kind, steepest!.kind]).toEqual(['ridge', 'steepest']);
    const best = ridge!.steps.reduce((a, b) => (b.mean < a.mean ? b : a));
    expect(Math.abs(best.mean - 5)).toBeLessThan(0.05);
    expect(Math.abs(best.distance - Math.hypot(0.3, 0.2))).toBeLessThan(0.1);
    // The slopes at the centre are −1.2 and 0.2: the way down goes up in level, down in screw.
    const { natural } = steepest!.steps[1]!;
    expect(Math.abs(Number(natural['screw']) / Number(natural['level']) + 1 / 6)).toBeLessThan(
      0.05,
    );
    expect(report('largest').paths[1]!.steps[1]!.natural['level']).toBeLessThan(0);
  });
});
