import { seededUniform, standardNormal } from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Checked } from '../../../packages/cli/src/page/checked-run.ts';
import { influenceCheck } from '../../../packages/cli/src/page/influence-check.ts';
import { normalCheck } from '../../../packages/cli/src/page/normal-check.ts';
import { rankCorrelation } from '../../../packages/cli/src/page/rank-correlation.ts';
import { driftCheck, evenCheck } from '../../../packages/cli/src/page/residual-check.ts';

const fit = { dfResidual: 30, terms: [1, 2, 3], scale: 'response' } as unknown as Checked['fit'];

/** Invented residuals from a seeded normal source, shaped on request. */
function checked(shape: (z: number, i: number) => number, n = 40, seed = 11): Checked {
  const uniform = seededUniform(seed, 'residuals');
  const runs = Array.from({ length: n }, (_, i) => {
    const residual = shape(standardNormal(uniform), i);
    return { cell: i + 1, fitted: i, residual, deleted: residual, leverage: 0.1, cooks: 0.02 };
  });
  return { runs, name: 'SD', fit };
}

describe('rankCorrelation', () => {
  it('matches the worked example of the SciPy reference for spearmanr', () => {
    // SciPy API reference, scipy.stats.spearmanr, first example: 0.8207826816681233 and
    // p 0.08858700531354381, from memory.
    const { rho, p } = rankCorrelation([1, 2, 3, 4, 5], [5, 6, 7, 8, 7]);
    expect(rho).toBeCloseTo(0.8207826816681233, 12);
    expect(p).toBeCloseTo(0.08858700531354381, 8);
  });

  it('has no p when one side is all alike', () => {
    expect(rankCorrelation([1, 1, 1, 1, 1, 1], [3, 1, 2, 4, 6, 5])).toEqual({ rho: 0, p: null });
  });

  it('law: a rising transform of either side changes nothing', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.integer({ min: -50, max: 50 }), fc.integer({ min: -50, max: 50 })), {
          minLength: 5,
          maxLength: 20,
        }),
        (pairs) => {
          const [a, b] = [pairs.map(([x]) => x), pairs.map(([, y]) => y)];
          const there = rankCorrelation(a, b).rho;
          expect(
            rankCorrelation(
              a.map(Math.atan),
              b.map((y) => y ** 3),
            ).rho,
          ).toBeCloseTo(there, 12);
        },
      ),
    );
  });
});

describe('checks of residuals', () => {
  it('find nothing in normal residuals', () => {
    const plain = checked((z) => z);
    expect(evenCheck(plain)!.figure!.caption).toContain('No funnel');
    expect(driftCheck(plain).figure!.caption).toContain('No drift');
    expect(normalCheck(plain).figure!.caption).toContain('keep to the band');
    expect(influenceCheck(plain)!.figure!.caption).toContain('No cell');
  });

  it('see a funnel, a drift, a heavy tail and a pulling cell', () => {
    expect(evenCheck(checked((z, i) => (z * (i + 1)) / 20))!.figure!.caption).toContain(
      'funnel: the scatter',
    );
    expect(driftCheck(checked((z, i) => z + i / 10)).figure!.caption).toContain('drifted');
    expect(normalCheck(checked((z) => z ** 5)).sentence).toContain('not normal');
    const plain = checked((z) => z);
    const pulled = {
      ...plain,
      runs: plain.runs.map((run) => (run.cell === 7 ? { ...run, cooks: 3 } : run)),
    };
    expect(influenceCheck(pulled)!.sentence).toMatch(/^Cell 7 pulls the fit hard/);
  });

  it('tell drift about as often as it is asked when there is none', () => {
    const seen = Array.from({ length: 200 }, (_, seed) => driftCheck(checked((z) => z, 20, seed)));
    const share = seen.filter(({ figure }) => figure!.caption.includes('drifted')).length / 200;
    // A 5 % risk; four standard errors of 200 draws.
    expect(share).toBeLessThan(0.05 + 4 * Math.sqrt((0.05 * 0.95) / 200));
  });

  it('say nothing of evenness where every cell is fitted alike', () => {
    const flat = checked((z) => z);
    expect(
      evenCheck({ ...flat, runs: flat.runs.map((run) => ({ ...run, fitted: 1 })) }),
    ).toBeNull();
  });
});
