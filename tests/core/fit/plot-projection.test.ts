import {
  type Dense,
  deletedErrors,
  fitSplitPlot,
  leastSquares,
  plotProjection,
  projected,
  runDiagnostics,
  seededUniform,
  splitPlotLackOfFit,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataJson, expectClose } from '../../reference/dataset.ts';

const uniform = seededUniform(11);
const n = 18;
const x: Dense = {
  rows: n,
  cols: 3,
  data: Float64Array.from(
    Array.from({ length: n }, () => [1, uniform() - 0.5, uniform() - 0.5]).flat(),
  ),
};
const y = Float64Array.from({ length: n }, () => uniform());

describe('plotProjection', () => {
  it('gives the usual leverages, studentised residuals and Cook’s distances without plots', () => {
    const fit = leastSquares({ x, y });
    if (fit.kind !== 'fitted') throw new Error(fit.kind);
    const given = plotProjection({ x, nesting: null, ratios: [] });
    const pull = projected(given, fit.residuals);
    for (const [i, row] of runDiagnostics(fit).entries()) {
      const own = given.projection[i * n + i]!;
      const variance = fit.residualSd ** 2;
      expectClose(1 - own / given.precision[i]!, row.leverage, 1e-9, 'leverage');
      expectClose(pull[i]! / Math.sqrt(variance * own), row.studentised!, 1e-9, 'studentised');
      const cook = ((pull[i]! / own) ** 2 * (given.precision[i]! - own)) / (3 * variance);
      expectClose(cook, row.cooksDistance!, 1e-9, 'Cook');
    }
  });

  it('foretells a left-out plot as a fit without its runs does', () => {
    const plots = Int32Array.from({ length: n }, (_, i) => Math.floor(i / 3));
    const ratios = [0.7];
    const source = { kind: 'known-ratio' as const, ratios };
    const whole = fitSplitPlot({ x, y, strata: [plots], ratioSource: source });
    if (whole.kind !== 'fitted') throw new Error(whole.kind);
    const nesting = {
      rows: n,
      groupings: [{ count: 6, of: plots, labels: Int32Array.from([0, 1, 2, 3, 4, 5]) }],
      parent: Int32Array.from([0, 1, 2, 3, 4, 5]),
    };
    const given = plotProjection({ x, nesting, ratios });
    const errors = deletedErrors(given, whole.residuals, plots, 6)!;
    for (let g = 0; g < 6; g++) {
      const rest = [...plots.keys()].filter((i) => plots[i] !== g);
      const without = fitSplitPlot({
        x: {
          rows: rest.length,
          cols: 3,
          data: Float64Array.from(rest.flatMap((i) => [...x.data.subarray(3 * i, 3 * i + 3)])),
        },
        y: Float64Array.from(rest, (i) => y[i]!),
        strata: [Int32Array.from(rest, (i) => plots[i]!)],
        ratioSource: source,
      });
      if (without.kind !== 'fitted') throw new Error(without.kind);
      const b = without.coefficients.map(({ estimate }) => estimate);
      for (const i of plots.keys()) {
        if (plots[i] !== g) continue;
        const mean = b.reduce((sum, value, j) => sum + value * x.data[3 * i + j]!, 0);
        expectClose(errors[i]!, y[i]! - mean, 1e-8, `run ${i}`);
      }
    }
  });
});

describe('splitPlotLackOfFit', () => {
  // Box (1996), corrosion of steel bars: temperature straight, coatings; against the model with a
  // mean for every treatment. KRmodcomp of pbkrtest 0.5.2 on lme4 1.1.31 fits, R 4.2.2.
  const { rows } = dataJson('box-corrosion-split-plot') as { rows: (string | number)[][] };
  const coats = ['C1', 'C2', 'C3'].map(
    (own) => (coat: unknown) => (coat === own ? 1 : coat === 'C4' ? -1 : 0),
  );
  const design = rows.map(([, temp, coat]) => [
    1,
    (Number(temp) - 370) / 10,
    ...coats.map((code) => code(coat)),
  ]);
  const labels = (key: (row: (string | number)[]) => string): Int32Array => {
    const seen: string[] = [];
    return Int32Array.from(rows, (row) => {
      if (!seen.includes(key(row))) seen.push(key(row));
      return seen.indexOf(key(row));
    });
  };
  const input = {
    x: { rows: rows.length, cols: 5, data: Float64Array.from(design.flat()) },
    y: Float64Array.from(rows, (row) => Number(row[3])),
    strata: [labels((row) => String(row[0]))],
  };

  it('matches the Kenward–Roger comparison with the treatment model', () => {
    const found = splitPlotLackOfFit(
      input,
      labels((row) => `${row[1]} ${row[2]}`),
    );
    if (found.kind !== 'tested') throw new Error(found.kind);
    expect(found.df).toBe(7);
    expectClose(found.f, 3.60500195301, 1e-6, 'F');
    expectClose(found.dfError, 7.9685079437, 1e-6, 'df');
    expectClose(found.pValue, 0.0466163206523, 1e-5, 'p');
  });

  it('cannot be tested when no plot repeats its settings', () => {
    const once = labels((row) => `${row[0]} ${row[2]}`);
    expect(splitPlotLackOfFit(input, once).kind).toBe('in-plots');
  });

  it('is saturated when every treatment has its term already', () => {
    const all = new Int32Array(rows.length);
    expect(splitPlotLackOfFit(input, all).kind).toBe('saturated');
  });
});
