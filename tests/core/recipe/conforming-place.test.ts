import {
  chanceAt,
  pointFromSettings,
  predictorOf,
  type Recommended,
  recommendation,
  type StudyState,
  scrambledHalton,
  seededUniform,
  settingsOf,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { conformingPlace } from '../../../packages/core/src/recipe/conforming-place.ts';
import { wantedResponses } from '../../../packages/core/src/recipe/wanted-response.ts';
import { gradedValue } from '../../../packages/core/src/surface/best-joint-desirability.ts';
import { keepsLimits, linearLimits } from '../../../packages/core/src/surface/linear-limits.ts';
import { factors, fitsOf, inventedStudy } from './invented-study.ts';

/** Bubbles rise with level and fan: the steadiest strand does not conform, a duller one does. */
function pulled(seed: number): StudyState {
  const state = inventedStudy({
    lnBubbles: (x) => 1.1 + 0.6 * x['level']! + 0.5 * x['fan']!,
    lnSd: (x) => Math.log(0.0095) + 0.2 * (x['level']! - 0.5) ** 2 + 0.15 * (x['fan']! - 0.6) ** 2,
    product: { mostBubblesPerMetre: 4 },
    seed,
  });
  const responses = state.opened.responses.map((response) =>
    response.name === 'bubbles'
      ? { ...response, goal: { aim: 'smallest' as const, target: 5, high: 12 } }
      : response,
  );
  return { ...state, opened: { ...state.opened, responses } };
}

function recommended(seed: number, asked: number): Recommended {
  const state = pulled(seed);
  const found = recommendation(predictorOf(state, fitsOf(state)), asked);
  if (found.kind !== 'found' && found.kind !== 'nowhere acceptable') throw new Error(found.says);
  return found;
}

describe('conformingPlace', () => {
  it('finds settings that conform and are wished as much as any of 2000 looked at', () => {
    const state = pulled(1);
    const predictor = predictorOf(state, fitsOf(state));
    const responses = wantedResponses(predictor);
    const limits = linearLimits(factors, predictor.constraints);
    const from = new Float64Array(factors.length).fill(0.8);
    expect(predictor.draft!.at(from).probability).toBeLessThan(0.9);
    const at = conformingPlace(predictor, { responses, asked: 0.9, from })!;
    expect(keepsLimits(at, limits)).toBe(true);
    expect(predictor.draft!.at(at).probability).toBeGreaterThanOrEqual(0.9);
    expect(chanceAt(predictor, at)!.probability).toBeGreaterThan(0.895);
    const sequence = scrambledHalton(factors.length, seededUniform(1, 'looked'));
    const u = new Float64Array(factors.length);
    let best = 0;
    for (let i = 0; i < 2000; i++) {
      sequence.pointInto(u, i);
      const place = u.map((share) => 2 * share - 1);
      if (!keepsLimits(place, limits) || predictor.draft!.at(place).probability < 0.9) continue;
      best = Math.max(best, gradedValue(responses, place));
    }
    expect(best).toBeGreaterThan(0);
    expect(gradedValue(responses, at)).toBeGreaterThan(best - 0.02);
  });

  it('is null where nothing conforms', () => {
    const state = inventedStudy({ product: { leastPpk: 3 } });
    const predictor = predictorOf(state, fitsOf(state));
    const responses = wantedResponses(predictor);
    const from = settingsOf({ level: 0, screw: 0, fan: 0 }, factors);
    expect(conformingPlace(predictor, { responses, asked: 0.9, from })).toBeNull();
  });
});

describe('recommendation where wishes pull against conforming', () => {
  it('recommends settings that conform when some that are wished do', () => {
    for (const seed of [1, 2, 3]) {
      const found = recommended(seed, 0.9);
      expect(found.winner.probability, `seed ${seed}`).toBeLessThan(0.9);
      expect(found.probability, `seed ${seed}`).toBeGreaterThanOrEqual(0.9);
      expect(found.shortfall).toBeNull();
      expect(pointFromSettings(settingsOf(found.coded, factors), factors)).toEqual(found.coded);
    }
  });

  it('law: a best chance that is told as too low is below what is asked', () => {
    for (const asked of [0.5, 0.8, 0.9, 0.97, 0.99, 0.999]) {
      const { shortfall, probability } = recommended(4, asked);
      if (!shortfall) expect(probability).toBeGreaterThanOrEqual(asked);
      else if (shortfall.says.startsWith('Not with these data'))
        expect(shortfall.best).toBeLessThan(asked);
      else expect(shortfall.says).toContain('The chance at these settings');
    }
  });
});
