import { improvementPath, predictorOf } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { fitsOf, inventedStudy } from './invented-study.ts';

const predictorFor = (study: Parameters<typeof inventedStudy>[0], model?: 'main') => {
  const state = inventedStudy(study);
  return predictorOf(state, fitsOf(state, model && { 'SD of diameter': model, bubbles: model }));
};

describe('improvementPath', () => {
  it('follows the ridge in set points and predicts ever smaller values while inside', () => {
    const predictor = predictorFor({
      lnSd: (x) => Math.log(0.01) + 0.4 * (x['level']! - 0.6) ** 2 - 0.3 * x['fan']!,
      sd: 0.02,
    });
    const path = improvementPath(predictor, 'SD of diameter')!;
    expect([path.kind, path.aim]).toEqual(['ridge', 'smallest']);
    const inside = path.steps.filter(({ isOutside, broken }) => !isOutside && !broken);
    expect(inside.length).toBeGreaterThan(5);
    const values = inside.map(({ prediction }) => prediction.mean.value);
    for (const [i, value] of values.slice(1).entries())
      expect(value).toBeLessThan(1.02 * values[i]!);
    expect(values.at(-1)).toBeLessThan(0.8 * values[0]!);
    const { setPoints } = path.steps.at(-1)!;
    expect(setPoints.zonesCelsius.every(Number.isInteger)).toBe(true);
    expect(setPoints.fanPercent % 5).toBe(0);
  });

  it('goes straight by the slopes of a first-order model and stops at a limit', () => {
    const predictor = predictorFor(
      { lnSd: (x) => Math.log(0.01) - 0.5 * x['level']!, sd: 0.02 },
      'main',
    );
    const path = improvementPath(predictor, 'SD of diameter')!;
    expect(path.kind).toBe('steepest');
    const last = path.steps.at(-1)!;
    expect(last.broken).toContain('ceiling');
    expect(last.isOutside).toBe(true);
    expect(path.steps.slice(0, -1).every(({ broken }) => broken === null)).toBe(true);
  });

  it('has no path for a response that was not fitted', () => {
    expect(improvementPath(predictorFor({ lnBubbles: null }), 'bubbles')).toBeNull();
  });
});
