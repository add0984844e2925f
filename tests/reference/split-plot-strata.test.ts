import { contrastTest, type Dense, fitSplitPlot, type SplitPlotFit } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataJson, expectClose, expectedOf } from './dataset.ts';

/** lme4 stops its search near 1e-7 of a ratio. */
const TOLERANCE = 1e-5;
const DF = 1e-3;

const { columns, rows } = dataJson('two-strata-simulated') as {
  columns: string[];
  rows: number[][];
};
const expected = expectedOf('two-strata-simulated');

const column = (name: string) => Float64Array.from(rows, (row) => row[columns.indexOf(name)]!);
const labels = (name: string) => Int32Array.from(column(name));

function matrix(...terms: readonly (readonly string[])[]): Dense {
  const data = rows.flatMap((row) =>
    terms.map((names) => names.reduce((value, name) => value * row[columns.indexOf(name)]!, 1)),
  );
  return { rows: rows.length, cols: terms.length, data: Float64Array.from(data) };
}

function fitted(input: Parameters<typeof fitSplitPlot>[0]): SplitPlotFit {
  const result = fitSplitPlot(input);
  if (result.kind !== 'fitted') throw new Error(result.words);
  return result;
}

interface Fixed {
  estimate: number;
  se: number;
  satterthwaite_df: number;
  kr_se?: number;
  kr_df?: number;
}

function expectFixed(fit: SplitPlotFit, wanted: Record<string, Fixed>): void {
  for (const [j, [name, value]] of Object.entries(wanted).entries()) {
    const got = fit.coefficients[j]!;
    expectClose(got.estimate, value.estimate, TOLERANCE, name);
    expectClose(got.glsStandardError, value.se, TOLERANCE, `${name} error`);
    expectClose(got.satterthwaiteDf, value.satterthwaite_df, DF, `${name} Satterthwaite df`);
    if (value.kr_se === undefined) continue;
    expectClose(got.standardError, value.kr_se, TOLERANCE, `${name} adjusted error`);
    expectClose(got.df, value.kr_df!, DF, `${name} df`);
  }
}

describe('fitSplitPlot on unbalanced nested strata (simulated; lme4, pbkrtest)', () => {
  it('matches two strata with a joint test of several df', () => {
    const wanted = expected.two_strata;
    const fit = fitted({
      x: matrix([], ['level'], ['rpm'], ['fan'], ['level', 'level'], ['level', 'fan']),
      y: column('y'),
      strata: [labels('wp'), labels('sp')],
    });
    const variances = fit.varianceComponents.map(({ variance }) => variance);
    expectClose(variances[0]!, wanted.variances.W, TOLERANCE, 'whole plots');
    expectClose(variances[1]!, wanted.variances.S, TOLERANCE, 'sub-whole plots');
    expectClose(variances[2]!, wanted.variances.Residual, TOLERANCE, 'residual');
    expectClose(-2 * fit.restrictedLogLikelihood, wanted.reml_criterion, 1e-9, '−2 ln L');
    expectFixed(fit, wanted.fixed);
    const l = new Float64Array(12);
    l[1] = 1;
    l[6 + 5] = 1;
    const test = contrastTest(fit, { rows: 2, cols: 6, data: l });
    expectClose(test.f, wanted.joint_level.f, TOLERANCE, 'F');
    expectClose(test.ddf, wanted.joint_level.ddf, DF, 'df');
    expectClose(test.scaling, wanted.joint_level.scaling, TOLERANCE, 'scaling');
    expectClose(test.p, wanted.joint_level.p, 1e-4, 'p');
    const effects = fit.plotEffects.filter(({ stratum }) => stratum === 0);
    for (const [g, effect] of wanted.effects_whole.entries())
      expectClose(effects[g]!.effect, effect, TOLERANCE, `effect of whole plot ${g + 1}`);
  });

  it('matches a weighted fit', () => {
    const fit = fitted({
      x: matrix([], ['level'], ['rpm'], ['fan']),
      y: column('y'),
      strata: [labels('wp')],
      weights: column('w'),
    });
    const wanted = expected.weighted;
    expectClose(fit.varianceComponents[0]!.variance, wanted.variances.W, TOLERANCE, 'plots');
    expectClose(fit.varianceComponents[1]!.variance, wanted.variances.Residual, TOLERANCE, 'rest');
    expectClose(-2 * fit.restrictedLogLikelihood, wanted.reml_criterion, 1e-9, '−2 ln L');
    expectFixed(fit, wanted.fixed);
  });

  it('matches profile likelihood limits of the variances', () => {
    const fit = fitted({
      x: matrix([], ['level'], ['rpm'], ['fan']),
      y: column('y'),
      strata: [labels('wp')],
    });
    const [whole, residual] = fit.varianceComponents;
    expect(whole!.interval).toBe('profile');
    // Both searches stop at a likelihood flat to 1e-8, so a limit holds to some 1e-5.
    for (const [got, wanted] of [
      [whole!.low, expected.profile.whole[0]],
      [whole!.high, expected.profile.whole[1]],
      [residual!.low, expected.profile.residual[0]],
      [residual!.high, expected.profile.residual[1]],
    ])
      expectClose(got, wanted, 1e-4, 'limit');
  });

  it('matches the adjustment at a variance of exactly zero', () => {
    const wanted = expected.boundary;
    const fit = fitted({
      x: matrix([], ['level'], ['rpm'], ['fan']),
      y: Float64Array.from(wanted.y as number[]),
      strata: [labels('wp')],
    });
    expect(fit.varianceComponents[0]!.variance).toBe(0);
    for (const [j, got] of fit.coefficients.entries()) {
      expectClose(got.glsStandardError, wanted.se[j], 1e-9, 'error');
      expectClose(got.standardError, wanted.kr_se[j], TOLERANCE, 'adjusted error');
      expectClose(got.df, wanted.kr_df[j], DF, 'df');
    }
  });

  it('matches variances from the full treatment model', () => {
    const wanted = expected.pure_error;
    const [level, rpm, fan] = [column('level'), column('rpm'), column('fan3')];
    const treatments = Int32Array.from(level, (v, i) => 9 * v + 3 * rpm[i]! + fan[i]!);
    expect(new Set(treatments).size).toBe(wanted.treatments);
    const fit = fitted({
      x: matrix([], ['level'], ['rpm'], ['fan3']),
      y: column('y3'),
      strata: [labels('wp')],
      ratioSource: { kind: 'pure-error', treatments },
    });
    expect(fit.method).toBe('pure-error-reml');
    expectClose(fit.varianceComponents[0]!.variance, wanted.variances.W, TOLERANCE, 'plots');
    expectClose(fit.varianceComponents[1]!.variance, wanted.variances.Residual, TOLERANCE, 'rest');
    for (const [j, got] of fit.coefficients.entries()) {
      expectClose(got.estimate, wanted.estimate[j], TOLERANCE, 'estimate');
      expectClose(got.glsStandardError, wanted.se[j], TOLERANCE, 'error');
      expectClose(got.standardError, wanted.kr_se[j], TOLERANCE, 'adjusted error');
      expectClose(got.df, wanted.kr_df[j], DF, 'df');
    }
  });
});
