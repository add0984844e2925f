import { fitPassFail, type PassFailFit } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataJson, expectClose, expectedOf } from './dataset.ts';

const { rows } = dataJson('firth-logistic-simulated') as { rows: number[][] };
const expected = expectedOf('firth-logistic-simulated');
const x = {
  rows: rows.length,
  cols: 4,
  data: Float64Array.from(rows.flatMap(([level, rpm, fan]) => [1, level!, rpm!, fan!])),
};

function fitted(at: number): PassFailFit {
  const result = fitPassFail({ x, passed: rows.map((row) => row[at] === 1) });
  if (result.kind !== 'fitted') throw new Error(result.words);
  return result;
}

describe('fitPassFail on invented runs (penalised likelihood by general optimisers)', () => {
  for (const [name, at] of [
    ['mixed', 3],
    ['separated', 4],
  ] as const) {
    it(`matches estimates, limits and tests when outcomes are ${name}`, () => {
      const fit = fitted(at);
      expect(fit.isSeparated).toBe(name === 'separated');
      expectClose(fit.penalisedLogLikelihood, expected[name].penalised, 1e-9, 'penalised ln L');
      for (const [j, wanted] of Object.values(
        expected[name].coefficients as Record<string, Record<string, number>>,
      ).entries()) {
        const got = fit.coefficients[j]!;
        // General optimisers stop where the likelihood is flat to 1e-13, at 1e-6 of an error.
        for (const [mine, theirs, what] of [
          [got.estimate, wanted.estimate, 'estimate'],
          [got.standardError, wanted.se, 'error'],
          [got.low, wanted.low, 'low'],
          [got.high, wanted.high, 'high'],
        ] as const) {
          const off = Math.abs(mine - theirs!) / wanted.se!;
          expect(off, `${got.name} ${what}: ${mine} against ${theirs}`).toBeLessThan(1e-5);
        }
        expectClose(got.chiSquared, wanted.chi_squared!, 1e-6, 'likelihood ratio');
        expectClose(got.p, wanted.p!, 1e-5, 'p');
      }
    });
  }
});
