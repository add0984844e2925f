import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { WAYS } from '../bench/calibration-fit.ts';
import { trialPlans } from '../bench/calibration-plan.ts';
import { type Measure, type Shares, trialShares } from '../bench/calibration-trial.ts';

// A small part of the committed table is made again from another seed and compared within the error of
// the draws. The table itself is known to about half a percent.

interface Row extends Shares {
  readonly plan: string;
  readonly ratio: number;
  readonly way: string;
}
const file = join(import.meta.dirname, '../../datasets/calibration/shares.json');
const table: { replicates: number; rows: Row[] } = JSON.parse(readFileSync(file, 'utf8'));

const STUDIES = 60;
/** Shares of yes or no a study; averages of chances have their own spread and are left out. */
const SHARES: readonly Measure[] = [
  'wholePlotSize',
  'subPlotSize',
  'mean',
  'setUp',
  'stationary',
  'chanceHeld',
  'promised',
  'ownPromised',
];

describe('the calibration table', () => {
  it('rests on at least 2,000 studies for three plans and three ratios', () => {
    expect(table.replicates).toBeGreaterThanOrEqual(2000);
    expect(new Set(table.rows.map(({ plan }) => plan)).size).toBeGreaterThanOrEqual(3);
    expect([...new Set(table.rows.map(({ ratio }) => ratio))]).toEqual([0, 1, 4]);
  });

  it('is met again by other draws, within their error', () => {
    const plan = trialPlans('12 plots of 5, every plot twice')[0]!;
    const found = trialShares(plan, { ratio: 4, replicates: STUDIES, seed: 12 });
    for (const way of WAYS) {
      const told = table.rows.find(
        (row) => row.plan === plan.name && row.ratio === 4 && row.way === way,
      )!.shares!;
      const { answered, shares } = found.get(way)!;
      expect(answered, way).toBe(1);
      for (const measure of SHARES) {
        const share = told[measure];
        // Four standard errors; half a study more, as a share of few studies comes in steps.
        const most = 4 * Math.sqrt((share * (1 - share)) / STUDIES) + 0.5 / STUDIES;
        expect(Math.abs(shares![measure] - share), `${measure} of ${way}`).toBeLessThan(most);
      }
    }
  });

  it('keeps the promises that the product judges by', () => {
    for (const { way, ratio, plan, shares } of table.rows) {
      if (!shares || way === 'least squares') continue;
      const told = `${plan}, ratio ${ratio}, ${way}`;
      expect(shares.subPlotSize, told).toBeLessThan(0.07);
      expect(shares.wholePlotSize, told).toBeLessThan(0.09);
      expect(shares.mean, told).toBeGreaterThan(0.91);
      expect(shares.stationary, told).toBeGreaterThan(0.92);
    }
  });
});
