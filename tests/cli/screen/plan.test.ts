import { assessedPlan, type NamedPlan, orderTable, planComparison, planOf } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { planIntent } from '../../../packages/cli/src/screen/plan/keys.ts';
import {
  comparisonLines,
  planLineCount,
  planLines,
} from '../../../packages/cli/src/screen/plan/lines.ts';
import {
  openingPlanScreen,
  type PlanFacts,
  type PlanScreen,
  reducePlan,
} from '../../../packages/cli/src/screen/plan/state.ts';
import { lineWidth, plainText } from '../../../packages/cli/src/terminal/line.ts';
import { themeOf } from '../../../packages/cli/src/theme.ts';
import { request } from '../../core/plan/example-plans.ts';

const theme = themeOf({ colour: false, unicode: true });
const letters = themeOf({ colour: false, unicode: false });
const named = (name: string, ...args: Parameters<typeof request>): NamedPlan => ({
  name,
  ...assessedPlan(planOf(request(...args))),
});
const plans = [
  named('composite', 'central composite', { options: { alpha: 'face-centred' } }),
  named('optimal of 7 × 3', 'optimal', { options: { starts: 2, wholePlots: 7, cells: 3 } }),
  named('box', 'box-behnken'),
];
const facts: PlanFacts = {
  title: 'PX-31 (invented)',
  plans,
  comparison: planComparison(plans, { hours: 8, grams: 2000 }),
  orders: orderTable(plans[1]!),
  lineCount: 40,
};
const press = (input: string, more: Partial<Parameters<typeof planIntent>[1]> = {}) => ({
  input,
  isReturn: false,
  isEscape: false,
  isControl: false,
  arrow: null,
  page: 0 as const,
  ...more,
});
const after = (screen: PlanScreen, ...keys: Parameters<typeof planIntent>[1][]): PlanScreen =>
  keys.reduce((now, key) => {
    const intent = planIntent(now, key);
    return intent ? reducePlan(now, intent, facts).screen : now;
  }, screen);
const views = ['table', 'curve', 'slice', 'orders', 'cells', 'doubts', 'keys'] as const;

describe('planning screen', () => {
  it('selects with arrows and numbers, round the ends', () => {
    const left = after(openingPlanScreen, press('', { arrow: 'left' }));
    expect(left.selected).toBe(2);
    expect(after(left, press('', { arrow: 'right' })).selected).toBe(0);
    expect(after(openingPlanScreen, press('2')).selected).toBe(1);
    expect(after(openingPlanScreen, press('4')).notice).toBe('There are 3 plans.');
  });

  it('asks before it adopts, and adopts the plan in brackets', () => {
    const asked = after(openingPlanScreen, press('2'), press('', { isReturn: true }));
    expect(asked.isAsking).toBe(true);
    expect(reducePlan(asked, { kind: 'back' }, facts)).toMatchObject({
      screen: { isAsking: false, isLeaving: false },
      deeds: [],
    });
    const { deeds, screen } = reducePlan(asked, { kind: 'yes' }, facts);
    expect(deeds).toEqual([{ kind: 'adopt', plan: 1 }]);
    expect(screen.isLeaving).toBe(true);
  });

  it('takes another order from the orders table', () => {
    const orders = after(
      openingPlanScreen,
      press('2'),
      press('o'),
      press('', { arrow: 'down' }),
      press('', { arrow: 'down' }),
    );
    expect(orders).toMatchObject({ view: 'orders', order: 2 });
    expect(reducePlan(orders, { kind: 'choose' }, facts).deeds).toEqual([
      { kind: 'reorder', plan: 1, order: 'trend-robust' },
    ]);
    const same = { ...orders, order: 1 };
    expect(reducePlan(same, { kind: 'choose' }, facts)).toMatchObject({
      deeds: [],
      screen: { notice: 'The plan is in this order already.' },
    });
  });

  it('moves through factors on the slices, and a letter twice goes back', () => {
    const slice = after(openingPlanScreen, press('s'), press('', { arrow: 'right' }));
    expect(slice).toMatchObject({ view: 'slice', factor: 1, selected: 0 });
    expect(after(slice, press('s')).view).toBe('table');
    expect(after(slice, press('', { isEscape: true })).view).toBe('table');
    expect(after(openingPlanScreen, press('q')).isLeaving).toBe(true);
    expect(after(openingPlanScreen, press('c', { isControl: true })).isLeaving).toBe(true);
  });

  it.each([
    [120, 40],
    [80, 24],
    [40, 24],
  ])('fits %i columns and %i rows in every view', (columns, rows) => {
    for (const view of views) {
      for (const isAsking of [false, true]) {
        const screen = { ...openingPlanScreen, view, isAsking, selected: 1, notice: 'a word' };
        for (const look of [theme, letters]) {
          const lines = planLines(screen, facts, { columns, rows }, look);
          expect(lines).toHaveLength(rows);
          for (const spans of lines) expect(lineWidth(spans)).toBeLessThanOrEqual(columns);
        }
      }
    }
  });

  it('scrolls to the last line and no further', () => {
    const size = { columns: 80, rows: 24 };
    const count = planLineCount(openingPlanScreen, facts, size, theme);
    const known = { ...facts, lineCount: count };
    const far = reducePlan(openingPlanScreen, { kind: 'scroll', by: 500 }, known).screen;
    expect(far.top).toBe(count - 1);
    const text = plainText(planLines(far, known, size, theme));
    expect(text).toContain('shifts of 8 h');
    expect(text).not.toContain('more lines below');
  });

  it('shows differences first at 80 columns', () => {
    const lines = planLines(openingPlanScreen, facts, { columns: 80, rows: 24 }, theme);
    expect(plainText(lines)).toMatchInlineSnapshot(`
      " plan · PX-31 (invented) · 3 beside each other              15 more lines below
      ────────────────────────────────────────────────────────────────────────────────
                                                        [A]           B            C
                                                  composite optimal of 7          box
                                                                     × 3
       fits 8 h, 2000 g                                 yes          yes          yes
       cells                                             19           21           15
       zone settings                                     19            7           15
       hours, h                                         7.7          7.9          6.3
         of which holds, h                              5.2          5.1          4.3
       resin                                         1.2 kg       1.2 kg        965 g
       spools                                             2            2            1
       chance to see a change of 25 % (cell noise 15 %; variance of resets the same)
         level                                         0.36         0.19         0.26
         screw                                         0.36         0.67         0.26
         fan                                           0.36         0.64         0.26
         hard × other, worst of 2                      0.30         0.48         0.15
         screw × fan                                   0.30         0.41         0.15
         level²                                        0.39         0.27         0.42
         bowls, other, worst of 2                      0.39         0.73         0.42
       error df zones / rest                          – / 9        4 / 7        – / 5
      ────────────────────────────────────────────────────────────────────────────────
       ← → plan    ↑ ↓ scroll    enter choose A    q leave
       p prediction    s slices    o orders    r cells    t cannot tell    ? all keys"
    `);
  });

  it('draws every plan as its letter on the curves, without colour or Unicode', () => {
    const screen = { ...openingPlanScreen, view: 'curve' as const };
    const text = plainText(planLines(screen, facts, { columns: 80, rows: 24 }, letters));
    for (const letter of ['A', 'B', 'C']) expect(text).toContain(letter);
    expect(text).not.toMatch(/[│─•]/);
    expect(text).toContain('share of the region');
  });

  it('prints the whole comparison with what each plan cannot tell', () => {
    const text = plainText(comparisonLines(facts, 80));
    for (const letter of ['A', 'B', 'C'])
      expect(text).toMatch(new RegExp(`^ ${letter} cannot tell:`, 'm'));
    expect(text).toContain('fits 8 h, 2000 g');
  });
});
