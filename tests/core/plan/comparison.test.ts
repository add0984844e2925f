import {
  assessedPlan,
  type NamedPlan,
  orderTable,
  PlanComparison,
  planComparison,
  planOf,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { request } from './example-plans.ts';

const named = (name: string, ...args: Parameters<typeof request>): NamedPlan => ({
  name,
  ...assessedPlan(planOf(request(...args))),
});
const composite = named('composite', 'central composite', { options: { alpha: 'face-centred' } });
const split = named('split', 'optimal', { options: { starts: 3, wholePlots: 6, cells: 4 } });
const short = named('short', 'box-behnken');

describe('planComparison', () => {
  it('puts rows that differ first and keeps a value a plan', () => {
    const { rows } = planComparison([composite, split, short]);
    const firstSame = rows.findIndex(({ differs }) => !differs);
    expect(rows.slice(firstSame).every(({ differs }) => !differs)).toBe(true);
    for (const { values } of rows) expect(values).toHaveLength(3);
    for (const { differs, values } of rows)
      if (!differs && typeof values[0] === 'string') expect(new Set(values).size).toBe(1);
  });

  it('shows no difference between a plan and itself', () => {
    const { rows } = planComparison([split, { ...split, name: 'again' }]);
    expect(rows.filter(({ differs }) => differs)).toEqual([]);
  });

  it('says who fits the budget', () => {
    const hours = [composite, split, short].map(({ properties }) => properties.hours!);
    const between = (Math.min(...hours) + [...hours].sort((a, b) => a - b)[1]!) / 2;
    const { fits, says } = planComparison([composite, split, short], { hours: between });
    expect(fits).toEqual(hours.map((h) => h <= between));
    expect(says[0]).toMatch(/^Only (composite|split|short) fits the budget\.$/);
    expect(planComparison([split]).fits).toEqual([null]);
  });

  it('answers in the published schema', () => {
    const comparison = planComparison([composite, split], { hours: 10, grams: 1000 });
    expect(PlanComparison.parse(JSON.parse(JSON.stringify(comparison)))).toBeTruthy();
  });

  it('throws plan_count for none and for five', () => {
    for (const plans of [[], [split, split, split, split, split]])
      expect(() => planComparison(plans)).toThrow(/plans must number 1 to 4; got [05]/);
  });
});

describe('orderTable', () => {
  it('weighs hours against power and drift in every order', () => {
    const rows = orderTable(split);
    expect(rows.map(({ order }) => order)).toEqual([
      'complete',
      'within-plots',
      'trend-robust',
      'fewest-hours',
    ]);
    const [complete, within, robust, fewest] = rows;
    expect(fewest!.hours!).toBeLessThanOrEqual(within!.hours! + 1e-9);
    expect(within!.hours!).toBeLessThan(complete!.hours!);
    expect(robust!.drift).toBeLessThanOrEqual(Math.min(within!.drift, fewest!.drift) + 1e-9);
    // Zone settings cost chance for the hard factor and lend it to the others.
    expect(complete!.hardPower!).toBeGreaterThan(within!.hardPower!);
    expect(complete!.zoneSettings).toBeNull();
    expect(within!.zoneSettings).toBe(6);
  });

  it('treats cells kept together by the order as one reset', () => {
    // Nine of fifteen cells share a level with others: put together they are no resets of their own.
    const rows = orderTable(short);
    const fewest = rows.find(({ order }) => order === 'fewest-hours')!;
    expect(fewest.zoneSettings!).toBeLessThan(15);
    expect(fewest.hardDf!).toBeLessThan(rows[0]!.hardDf!);
  });
});
