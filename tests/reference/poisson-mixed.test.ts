import { fitPoissonMixed } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataJson, expectClose, expectedOf } from './dataset.ts';

describe('fitPoissonMixed on invented bubble counts (lme4, Laplace)', () => {
  const { rows } = dataJson('mixed-poisson-bubbles') as { rows: number[][] };
  const expected = expectedOf('mixed-poisson-bubbles');

  it('matches estimates within 1e-4 and errors within 1e-3 relative', () => {
    const result = fitPoissonMixed({
      x: {
        rows: rows.length,
        cols: 5,
        data: Float64Array.from(
          rows.flatMap(([, level, speed, fan]) => [1, level!, speed!, fan!, level! * speed!]),
        ),
      },
      counts: Float64Array.from(rows, (row) => row[5]!),
      exposure: Float64Array.from(rows, (row) => row[4]!),
      wholePlots: Int32Array.from(rows, (row) => row[0]!),
    });
    if (result.kind !== 'fitted') throw new Error(result.words);
    for (const [j, [name, value]] of Object.entries(
      expected.coefficients as Record<string, { estimate: number; se: number }>,
    ).entries()) {
      expectClose(result.coefficients[j]!.estimate, value.estimate, 1e-4, name);
      expectClose(result.coefficients[j]!.standardError, value.se, 1e-3, `${name} error`);
    }
    expectClose(result.wholePlotSd, expected.whole_plot_sd, 1e-4, 'whole-plot sd');
    expectClose(result.logLikelihood, expected.log_likelihood, 1e-8, 'log likelihood');
    expect(result.dfWholePlots).toBe(10);
  });
});
