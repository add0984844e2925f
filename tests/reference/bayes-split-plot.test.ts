import {
  type BayesSplitPlotFit,
  fitBayesSplitPlot,
  predictBayesSplitPlot,
  type SplitPlotPrior,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataJson, expectClose, expectedOf } from './dataset.ts';

/** Adaptive integration gives 1e-10; our trapezoidal rule claims 1e-6. */
const TOLERANCE = 1e-6;

const { rows } = dataJson('box-corrosion-split-plot') as { rows: (string | number)[][] };
const expected = expectedOf('bayes-split-plot-corrosion');
const x = {
  rows: 24,
  cols: 5,
  data: Float64Array.from(
    rows.flatMap(([, temp, coat]) => [
      1,
      (Number(temp) - 370) / 10,
      ...['C1', 'C2', 'C3'].map((level) => (coat === level ? 1 : coat === 'C4' ? -1 : 0)),
    ]),
  ),
};
const y = Float64Array.from(rows, (row) => Number(row[3]));
const strata = [Int32Array.from(rows, (row) => Number(row[0]))];
const point = Float64Array.of(1, 0.5, 1, 0, 0);

function fitted(prior?: SplitPlotPrior): BayesSplitPlotFit {
  const result = fitBayesSplitPlot({ x, y, strata, ...(prior ? { prior } : {}) });
  if (result.kind !== 'fitted') throw new Error(result.words);
  return result;
}

const carried: SplitPlotPrior = {
  ratios: [{ kind: 'log-normal', median: 1.5, logSd: 0.5 }],
  residual: { df: 6, variance: 250 },
  terms: { means: Float64Array.of(0, 30, 0, -5, 0), cells: Float64Array.of(0, 8, 0, 4, 0) },
};

describe('fitBayesSplitPlot on corrosion of steel bars (dense adaptive integration)', () => {
  for (const [name, prior] of [
    ['weak', undefined],
    ['carried', carried],
  ] as const) {
    it(`matches moments, limits and predictions under the ${name} prior`, () => {
      const fit = fitted(prior);
      const wanted = expected[name];
      for (const [j, value] of Object.values(
        wanted.coefficients as Record<string, Record<string, number>>,
      ).entries()) {
        const got = fit.coefficients[j]!;
        for (const key of ['mean', 'sd', 'low', 'high', 'positive'] as const) {
          const off = Math.abs(got[key] - value[key]!) / (key === 'positive' ? 1 : value.sd!);
          expect(off, `${got.name} ${key}: ${got[key]} against ${value[key]}`).toBeLessThan(
            TOLERANCE,
          );
        }
      }
      expectClose(fit.varianceComponents[1]!.mean, wanted.residual_variance_mean, TOLERANCE, 's²');
      expectClose(fit.varianceComponents[0]!.mean, wanted.whole_variance.mean, 1e-5, 'plots');
      const fresh = predictBayesSplitPlot(fit, point, { kind: 'new-whole-plot' });
      expectClose(fresh.mean, wanted.fresh_plot.mean, TOLERANCE, 'new plot, mean');
      expectClose(fresh.sd, wanted.fresh_plot.sd, 1e-5, 'new plot, sd');
      const same = predictBayesSplitPlot(fit, point, { kind: 'same-whole-plot', label: 3 });
      expectClose(same.mean, wanted.same_plot_3.mean, TOLERANCE, 'same plot, mean');
      expectClose(same.sd, wanted.same_plot_3.sd, TOLERANCE, 'same plot, sd');
      expect(same.sd).toBeLessThan(fresh.sd);
    });
  }
});
