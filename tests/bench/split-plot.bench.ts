import {
  fitBayesSplitPlot,
  fitSplitPlot,
  type SplitPlotInput,
  seededUniform,
} from '@strandwise/core';
import { bench, describe } from 'vitest';

/** Whole plots of four cells; 15 quadratic terms of two hard and two easy factors. */
function layout(plots: number, subPlots: boolean): SplitPlotInput {
  const uniform = seededUniform(5);
  const rows: number[][] = [];
  const y: number[] = [];
  const labels: number[] = [];
  const pairs: number[] = [];
  for (let g = 0; g < plots; g++) {
    const [a, b] = [Math.floor(3 * uniform()) - 1, Math.floor(3 * uniform()) - 1];
    const effect = uniform() - 0.5;
    for (let c = 0; c < 4; c++) {
      const [d, e] = [2 * uniform() - 1, 2 * uniform() - 1];
      const f = [a, b, d, e];
      const row = [1, ...f];
      for (let i = 0; i < 4; i++) for (let j = i; j < 4; j++) row.push(f[i]! * f[j]!);
      rows.push(row);
      y.push(a + d + effect + 0.3 * uniform());
      labels.push(g);
      pairs.push(c >> 1);
    }
  }
  const strata = [Int32Array.from(labels)];
  if (subPlots) strata.push(Int32Array.from(pairs));
  return {
    x: { rows: rows.length, cols: 15, data: Float64Array.from(rows.flat()) },
    y: Float64Array.from(y),
    strata,
  };
}

function used(kind: string): void {
  if (kind !== 'fitted') throw new Error(kind);
}

describe('split-plot, 15 terms', () => {
  const small = layout(15, false);
  const nested = layout(15, true);
  const large = layout(60, false);

  bench('restricted likelihood with Kenward–Roger, 15 plots × 4', () => {
    used(fitSplitPlot(small).kind);
  });
  bench('the same with the ratio known', () => {
    used(fitSplitPlot({ ...small, ratioSource: { kind: 'known-ratio', ratios: [1] } }).kind);
  });
  bench('two strata, 15 plots × 2 × 2', () => {
    used(fitSplitPlot(nested).kind);
  });
  bench('restricted likelihood, 60 plots × 4', () => {
    used(fitSplitPlot(large).kind);
  });
  bench('Bayesian, 15 plots × 4', () => {
    used(fitBayesSplitPlot(small).kind);
  });
});
