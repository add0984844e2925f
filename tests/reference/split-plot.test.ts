import { contrastTest, type Dense, fitSplitPlot, type SplitPlotFit } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataJson, expectClose, expectedOf } from './dataset.ts';

/** lme4 stops its search near 1e-7 of a ratio; the pack states 1e-5 for variances and errors. */
const ESTIMATE = 1e-5;
const DF = 1e-3;

type Row = readonly (number | string)[];

function matrix(rows: readonly Row[], columns: readonly ((row: Row) => number)[]): Dense {
  return {
    rows: rows.length,
    cols: columns.length,
    data: Float64Array.from(rows.flatMap((row) => columns.map((column) => column(row)))),
  };
}

/** Column of a factor coded to sum to zero: 1 at its own level, −1 at the last. */
const sumCoded = (at: number, own: string | number, last: string | number) => (row: Row) =>
  row[at] === own ? 1 : row[at] === last ? -1 : 0;

const product = (a: (row: Row) => number, b: (row: Row) => number) => (row: Row) => a(row) * b(row);

function labels(rows: readonly Row[], key: (row: Row) => string): Int32Array {
  const seen: string[] = [];
  return Int32Array.from(rows, (row) => {
    const value = key(row);
    if (!seen.includes(value)) seen.push(value);
    return seen.indexOf(value);
  });
}

function fitted(input: Parameters<typeof fitSplitPlot>[0]): SplitPlotFit {
  const result = fitSplitPlot(input);
  if (result.kind !== 'fitted') throw new Error(result.words);
  return result;
}

interface ExpectedFixed {
  readonly estimate: number;
  readonly se: number;
  readonly satterthwaite_df: number;
  readonly kr_se: number;
  readonly kr_df: number;
  readonly kr_t: number;
  readonly kr_p: number;
}

function expectCoefficients(fit: SplitPlotFit, fixed: Record<string, ExpectedFixed>): void {
  const wanted = Object.entries(fixed);
  expect(fit.coefficients.length).toBe(wanted.length);
  for (const [j, [name, value]] of wanted.entries()) {
    const got = fit.coefficients[j]!;
    // Estimates of balanced layouts near zero are compared on the scale of their errors.
    const scale = Math.abs(got.estimate - value.estimate) / value.se;
    expect(scale, `${name} estimate off by ${scale} standard errors`).toBeLessThan(ESTIMATE);
    expectClose(got.glsStandardError, value.se, ESTIMATE, `${name} standard error`);
    expectClose(got.standardError, value.kr_se, ESTIMATE, `${name} adjusted standard error`);
    expectClose(got.df, value.kr_df, DF, `${name} Kenward–Roger df`);
    expectClose(got.satterthwaiteDf, value.satterthwaite_df, DF, `${name} Satterthwaite df`);
    expectClose(got.p, value.kr_p, 1e-4, `${name} p`);
  }
}

/** Variances are listed by the pack innermost plot first, residual last. */
function expectVariances(fit: SplitPlotFit, variances: Record<string, number>): void {
  const wanted = Object.values(variances);
  const residual = wanted.pop()!;
  const got = fit.varianceComponents.map(({ variance }) => variance);
  expectClose(got.at(-1)!, residual, ESTIMATE, 'residual variance');
  for (const [k, value] of wanted.reverse().entries())
    expectClose(got[k]!, value, ESTIMATE, `variance of stratum ${k}`);
}

function rowsOf(p: number, chosen: readonly number[]): Dense {
  const data = new Float64Array(chosen.length * p);
  for (const [i, j] of chosen.entries()) data[i * p + j] = 1;
  return { rows: chosen.length, cols: p, data };
}

describe('fitSplitPlot on corrosion of steel bars (Box 1996)', () => {
  const { rows } = dataJson('box-corrosion-split-plot') as { rows: Row[] };
  const expected = expectedOf('box-corrosion-split-plot');
  const one = () => 1;
  const temps = [360, 370].map((level) => sumCoded(1, level, 380));
  const coats = ['C1', 'C2', 'C3'].map((level) => sumCoded(2, level, 'C4'));
  const y = Float64Array.from(rows, (row) => Number(row[3]));
  const strata = [labels(rows, (row) => String(row[0]))];
  const both = coats.flatMap((coat) => temps.map((temp) => product(temp, coat)));

  it('matches variances, errors and df of the full factorial', () => {
    const fit = fitted({ x: matrix(rows, [one, ...temps, ...coats, ...both]), y, strata });
    const wanted = expected.reml_full_factorial;
    expectVariances(fit, wanted.variance_components);
    expectCoefficients(fit, wanted.fixed);
    expectClose(
      -2 * fit.restrictedLogLikelihood,
      wanted.reml_criterion_minus2loglik,
      1e-9,
      '−2 ln L',
    );
    const test = contrastTest(fit, rowsOf(12, [6, 7, 8, 9, 10, 11]));
    expectClose(test.f, wanted.tests[0].F, ESTIMATE, 'F of the interaction');
    expectClose(test.ddf, wanted.tests[0].ddf, DF, 'df of the interaction');
    expectClose(test.p, wanted.tests[0].p, 1e-4, 'p of the interaction');
    expect(fit.strata.map(({ df }) => df)).toEqual([3, 9]);
  });

  it('matches the strata tests of the main effects, which the book prints', () => {
    const fit = fitted({ x: matrix(rows, [one, ...temps, ...coats]), y, strata });
    for (const [name, columns] of [
      ['temp', [1, 2]],
      ['coating', [3, 4, 5]],
    ] as const) {
      const test = contrastTest(fit, rowsOf(6, columns));
      const wanted = expected.kr_tests_main_effects_model[name];
      expectClose(test.f, wanted.stat, ESTIMATE, `F of ${name}`);
      expectClose(test.ddf, wanted.ddf, DF, `df of ${name}`);
      expectClose(test.scaling, wanted['F.scaling'], DF, `scaling of ${name}`);
    }
    // Box, Hunter & Hunter (2005), Table 9.2: 2.8 on 2 and 3 df (from memory of the book).
    const { F, df } = expected.strata.whole_plot.tempF;
    const temp = contrastTest(fit, rowsOf(6, [1, 2]));
    expectClose(temp.f, F, ESTIMATE, 'F of the strata table');
    expect(temp.ndf).toBe(df);
  });

  it('matches a straight line in temperature', () => {
    const linear = (row: Row) => (Number(row[1]) - 370) / 10;
    const fit = fitted({
      x: matrix(rows, [one, linear, ...coats]),
      y,
      strata,
      names: ['mean', 'temperature', 'C1', 'C2', 'C3'],
    });
    const wanted = expected.reml_linear_temp_plus_coating;
    expectVariances(fit, wanted.variance_components);
    expectCoefficients(fit, wanted.fixed);
    expect(fit.strata[0]!.words).toBe('temperature rests on 4 df among whole plots');
    expect(fit.strata[1]!.words).toBe('C1, C2 and C3 rest on 15 df within whole plots');
  });
});

describe('fitSplitPlot on oats in blocks and plots (Yates 1935)', () => {
  const { rows } = dataJson('yates-oats-split-plot') as { rows: Row[] };
  const expected = expectedOf('yates-oats-split-plot');
  const varieties = ['Golden Rain', 'Marvellous'].map((level) => sumCoded(1, level, 'Victory'));
  const nitrogen = [0, 0.2, 0.4].map((level) => sumCoded(2, level, 0.6));
  const both = nitrogen.flatMap((n) => varieties.map((v) => product(v, n)));
  const y = Float64Array.from(rows, (row) => Number(row[3]));
  const strata = [
    labels(rows, (row) => String(row[0])),
    labels(rows, (row) => `${row[0]} ${row[1]}`),
  ];
  const base = { y, strata, strataNames: ['blocks', 'plots'] };

  it('matches variances, errors and df of the full factorial', () => {
    const fit = fitted({
      ...base,
      x: matrix(rows, [() => 1, ...varieties, ...nitrogen, ...both]),
    });
    expectVariances(fit, expected.reml_full.variance_components);
    expectCoefficients(fit, expected.reml_full.fixed);
    expectClose(
      -2 * fit.restrictedLogLikelihood,
      expected.reml_full.reml_criterion_minus2loglik,
      1e-9,
      '−2 ln L',
    );
    expect(fit.strata.map(({ df }) => df)).toEqual([5, 10, 45]);
    const test = contrastTest(fit, rowsOf(12, [6, 7, 8, 9, 10, 11]));
    expectClose(test.f, expected.reml_full.tests[0].F, ESTIMATE, 'F of the interaction');
    expectClose(test.ddf, expected.reml_full.tests[0].ddf, DF, 'df of the interaction');
  });

  it('matches a straight line in nitrogen, and judges varieties between plots', () => {
    const fit = fitted({
      ...base,
      x: matrix(rows, [() => 1, (row) => Number(row[2]), ...varieties]),
      names: ['mean', 'nitrogen', 'variety 1', 'variety 2'],
    });
    const wanted = expected.reml_linear_N_plus_variety;
    expectVariances(fit, wanted.variance_components);
    expectCoefficients(fit, wanted.fixed);
    for (const [i, columns] of [[1], [2, 3]].entries()) {
      const test = contrastTest(fit, rowsOf(4, columns));
      expectClose(test.f, wanted.tests[i].F, ESTIMATE, `F of ${wanted.tests[i].term}`);
      expectClose(test.ddf, wanted.tests[i].ddf, DF, `df of ${wanted.tests[i].term}`);
    }
    expect(fit.coefficients.map(({ stratum }) => stratum)).toEqual([0, 2, 1, 1]);
    expect(fit.strata[1]!.words).toBe('variety 1 and variety 2 rest on 10 df among plots');
  });

  it('reads sub-plot labels within their whole plots', () => {
    const x = matrix(rows, [() => 1, ...varieties]);
    const repeated = [strata[0]!, labels(rows, (row) => String(row[1]))];
    const got = fitted({ ...base, x, strata: repeated });
    const wanted = fitted({ ...base, x });
    expect(got.restrictedLogLikelihood).toBe(wanted.restrictedLogLikelihood);
  });
});

describe('fitSplitPlot on nine unequal whole plots (simulated)', () => {
  const { rows } = dataJson('unbalanced-split-plot') as { rows: Row[] };
  const expected = expectedOf('unbalanced-split-plot');
  const at = (j: number) => (row: Row) => Number(row[j]);
  const [w1, w2, s1, s2] = [at(1), at(2), at(3), at(4)];
  const x = matrix(rows, [() => 1, w1!, w2!, s1!, s2!, product(s1!, s1!), product(w1!, s1!)]);
  const y = Float64Array.from(rows, (row) => Number(row[5]));
  const strata = [labels(rows, (row) => String(row[0]))];

  it('matches variances, errors and fractional df', () => {
    const fit = fitted({ x, y, strata });
    expectVariances(fit, expected.reml.variance_components);
    expectCoefficients(fit, expected.reml.fixed);
    for (const [i, j] of [2, 6, 5].entries()) {
      const test = contrastTest(fit, rowsOf(7, [j]));
      expectClose(test.f, expected.reml.tests[i].F, ESTIMATE, 'F');
      expectClose(test.ddf, expected.reml.tests[i].ddf, DF, 'df');
    }
  });

  it('matches both covariance matrices and the plot effects', () => {
    const fit = fitted({ x, y, strata });
    for (const [got, wanted] of [
      [fit.glsCovariance, expected.vcov_fixed],
      [fit.adjustedCovariance, expected.vcov_kr],
    ] as const) {
      for (let i = 0; i < 7; i++)
        for (let j = 0; j < 7; j++) {
          // Small entries are differences of large ones, so the scale is that of the diagonal.
          const scale = Math.sqrt(wanted[i][i] * wanted[j][j]);
          const off = Math.abs(got.data[i * 7 + j]! - wanted[i][j]) / scale;
          expect(off, `entry ${i}, ${j}`).toBeLessThan(ESTIMATE);
        }
    }
    for (const [g, wanted] of Object.values(expected.blups as Record<string, number>).entries())
      expectClose(fit.plotEffects[g]!.effect, wanted, ESTIMATE, `effect of plot ${g + 1}`);
  });

  it('equals ordinary least squares and says so when the whole-plot variance is zero', () => {
    const wanted = expected.boundary_case;
    const fit = fitted({
      x: matrix(rows, [() => 1, w1!, s1!]),
      y: Float64Array.from(wanted.y as number[]),
      strata,
    });
    expect(fit.varianceComponents[0]!.variance).toBe(0);
    expect(fit.varianceComponents[0]!.isAtBoundary).toBe(true);
    expect(fit.varianceComponents[0]!.low).toBe(0);
    expectClose(fit.varianceComponents[1]!.variance, wanted.residual_variance, 1e-10, 'variance');
    for (const [j, value] of Object.values(
      wanted.ols as Record<string, { estimate: number; se: number }>,
    ).entries()) {
      expectClose(fit.coefficients[j]!.estimate, value.estimate, 1e-10, 'estimate');
      expectClose(fit.coefficients[j]!.glsStandardError, value.se, 1e-10, 'standard error');
    }
    expect(fit.remarks[0]).toMatch(/estimated as zero/);
  });
});
