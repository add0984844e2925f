import { AdviceAnswer, mostAdvised, planAdvice, planAnswer, planGoals } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { basis, plainFactors } from './example-plans.ts';

describe('planAdvice', () => {
  it.each(planGoals)('keeps to the budget for %s and offers at most five', (goal) => {
    const budget = { hours: 8, grams: 1500 };
    const { plans, needs } = planAdvice(basis, { goal, budget, starts: 2 });
    expect(plans.length).toBeGreaterThan(0);
    expect(plans.length).toBeLessThanOrEqual(mostAdvised);
    expect(needs).toBeNull();
    for (const { properties, fits } of plans) {
      expect(fits).toBe(true);
      expect(properties.hours!).toBeLessThanOrEqual(8);
      expect(properties.grams!).toBeLessThanOrEqual(1500);
    }
    const reasons = plans.map(({ reason }) => reason);
    expect(new Set(reasons).size).toBe(reasons.length);
  });

  it('says what budget would do when none fits', () => {
    const { plans, needs, says } = planAdvice(basis, {
      goal: 'map',
      budget: { hours: 1 },
      starts: 2,
    });
    expect(plans.every(({ fits }) => fits === false)).toBe(true);
    expect(needs!.hours).toBe(Math.min(...plans.map(({ properties }) => properties.hours!)));
    expect(says).toMatch(/^No plan fits 1 h\. The nearest, .*, needs \d+\.\d h and \d+ g\.$/);
    // What it asks for is enough.
    const again = planAdvice(basis, {
      goal: 'map',
      budget: { hours: needs!.hours + 0.01 },
      starts: 2,
    });
    expect(again.needs).toBeNull();
  });

  it('ranks maps by the average error of prediction', () => {
    const { plans } = planAdvice(basis, { goal: 'map', starts: 2 });
    const errors = plans
      .filter(({ properties }) => properties.assessed === 'quadratic')
      .map(({ properties }) => properties.averageError);
    for (let i = 1; i < errors.length; i++)
      expect(errors[i]!).toBeGreaterThan(errors[i - 1]! - 0.02 - 1e-9);
  });

  it('works without a line, and names what cannot be made', () => {
    const { plans, refused } = planAdvice(
      { factors: plainFactors(3), seed: 1 },
      {
        goal: 'find',
        starts: 2,
      },
    );
    expect(plans.length).toBeGreaterThan(0);
    expect(plans.every(({ fits }) => fits === null)).toBe(true);
    // Definitive screening takes four factors and more.
    expect(refused.some(({ name }) => name.startsWith('definitive screening'))).toBe(true);
  });

  it('confirms with fresh set-ups, never twice in a row at one setting', () => {
    const { plans } = planAdvice(basis, {
      goal: 'confirm',
      at: { level: 0.4, screw: -0.5, fan: 0 },
    });
    for (const { plan, properties } of plans) {
      expect(properties.falseResets).toEqual([]);
      const settings = plan.ordered.runs.map(({ natural }) => JSON.stringify(natural));
      for (let i = 1; i < settings.length; i++) expect(settings[i]).not.toBe(settings[i - 1]);
    }
  });

  it('answers in the published schema', () => {
    const advice = planAdvice(basis, { goal: 'map', budget: { hours: 9 }, starts: 1 });
    const answer = {
      ...advice,
      plans: advice.plans.map((plan) => ({
        name: plan.name,
        reason: plan.reason,
        fits: plan.fits,
        plan: planAnswer(plan),
      })),
    };
    expect(AdviceAnswer.parse(JSON.parse(JSON.stringify(answer)))).toBeTruthy();
  });
});
