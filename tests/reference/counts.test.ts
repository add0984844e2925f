import { type CountFit, type CountInput, type Dense, fitCounts } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataJson, expectClose, expectedOf } from './dataset.ts';

/** Both programs iterate to rounding; 1e-8 leaves room for the conditioning of 9 columns. */
const TOLERANCE = 1e-8;

type Row = readonly (number | string)[];

function matrix(rows: readonly Row[], columns: readonly ((row: Row) => number)[]): Dense {
  return {
    rows: rows.length,
    cols: columns.length,
    data: Float64Array.from(rows.flatMap((row) => columns.map((column) => column(row)))),
  };
}

const one = () => 1;
const is = (at: number, level: string) => (row: Row) => (row[at] === level ? 1 : 0);
const both = (a: (row: Row) => number, b: (row: Row) => number) => (row: Row) => a(row) * b(row);
const numbers = (rows: readonly Row[], at: number) =>
  Float64Array.from(rows, (row) => Number(row[at]));

function fitted(input: CountInput): CountFit {
  const result = fitCounts(input);
  if (result.kind !== 'fitted') throw new Error(result.words);
  return result;
}

interface Expected {
  readonly coefficients: Record<string, { estimate: number; se: number; stat: number; p: number }>;
  readonly deviance: number;
  readonly null_deviance: number;
  readonly df_resid: number;
  readonly df_null: number;
  readonly pearson_chisq: number;
  readonly dispersion: number;
  readonly loglik: number | null;
  readonly aic: number | null;
}

function expectFit(fit: CountFit, wanted: Expected, tolerance = TOLERANCE): void {
  for (const [j, [name, value]] of Object.entries(wanted.coefficients).entries()) {
    const got = fit.coefficients[j]!;
    const off = Math.abs(got.estimate - value.estimate) / value.se;
    expect(off, `${name} off by ${off} standard errors`).toBeLessThan(tolerance);
    expectClose(got.standardError, value.se, tolerance, `${name} standard error`);
    // A p of 1e-190 turns a relative 1e-12 of z into 1e-9 of p.
    expectClose(got.p, value.p, 100 * tolerance, `${name} p`);
  }
  expectClose(fit.deviance, wanted.deviance, tolerance, 'deviance');
  expectClose(fit.nullDeviance, wanted.null_deviance, tolerance, 'null deviance');
  expectClose(fit.pearson, wanted.pearson_chisq, tolerance, 'Pearson');
  expectClose(fit.dispersion, wanted.dispersion, tolerance, 'dispersion');
  expect([fit.dfResidual, fit.dfNull]).toEqual([wanted.df_resid, wanted.df_null]);
  if (wanted.loglik === null) expect([fit.logLikelihood, fit.aic]).toEqual([undefined, undefined]);
  else {
    expectClose(fit.logLikelihood!, wanted.loglik, tolerance, 'log likelihood');
    expectClose(fit.aic!, wanted.aic!, tolerance, 'AIC');
  }
}

describe('fitCounts on ship damage (McCullagh & Nelder 1989, 6.3.2)', () => {
  const { rows } = dataJson('ship-damage-counts') as { rows: Row[] };
  const expected = expectedOf('ship-damage-counts');
  const columns = [
    one,
    ...['B', 'C', 'D', 'E'].map((level) => is(0, level)),
    ...['65', '70', '75'].map((level) => is(1, level)),
    is(2, '75'),
  ];
  const input = {
    x: matrix(rows, columns),
    counts: numbers(rows, 4),
    exposure: numbers(rows, 3),
    groups: [
      { name: 'type', columns: [1, 2, 3, 4] },
      { name: 'year', columns: [5, 6, 7] },
      { name: 'period', columns: [8] },
    ],
  };

  it('matches the Poisson fit with its diagnostics and drop tests', () => {
    const fit = fitted({ ...input, family: 'poisson' });
    expectFit(fit, expected.poisson);
    for (let i = 0; i < rows.length; i++) {
      const { deviance, pearson, hat, fitted: means } = expected.diagnostics;
      expectClose(fit.devianceResiduals[i]!, deviance[i], TOLERANCE, `deviance residual ${i}`);
      expectClose(fit.pearsonResiduals[i]!, pearson[i], TOLERANCE, `Pearson residual ${i}`);
      expectClose(fit.leverages[i]!, hat[i], TOLERANCE, `leverage ${i}`);
      expectClose(fit.fitted[i]!, means[i], TOLERANCE, `fitted ${i}`);
    }
    for (const test of fit.dropTests) {
      const wanted = expected.drop1_LR[test.name];
      expect(test.df).toBe(wanted.Df);
      expectClose(test.statistic, wanted.LRT, TOLERANCE, `likelihood ratio of ${test.name}`);
      expectClose(test.p, wanted['Pr(>Chi)'], 1e-7, `p of ${test.name}`);
    }
    // Residual deviance 38.7 on 25 df as the book prints (from memory).
    expect(fit.deviance.toFixed(1)).toBe('38.7');
  });

  it('matches the quasi-Poisson fit; automatic picks it and says why', () => {
    const fit = fitted({ ...input, family: 'automatic' });
    expect(fit.family).toBe('quasi-poisson');
    expect(fit.reason).toContain('1.69 on 25 df');
    expectFit(fit, expected.quasipoisson);
    // The reference divides by deviance/df, we by the Pearson dispersion of the standard errors.
    const { type } = expected.drop1_quasi_F;
    const mine = fit.dropTests[0]!;
    const byDeviance = mine.likelihoodRatio / mine.df / (fit.deviance / fit.dfResidual);
    expectClose(byDeviance, type['F value'], TOLERANCE, 'F over deviance/df');
    expectClose(mine.statistic * fit.dispersion * 4, mine.likelihoodRatio, 1e-12, 'our F');
  });
});

describe('fitCounts on warp breaks (Tippett 1950)', () => {
  const { rows } = dataJson('warp-break-counts') as { rows: Row[] };
  const expected = expectedOf('warp-break-counts');
  const wool = is(1, 'B');
  const [middle, high] = [is(2, 'M'), is(2, 'H')];
  const x = matrix(rows, [one, wool, middle, high, both(wool, middle), both(wool, high)]);
  const input = { x, counts: numbers(rows, 0) };

  it('matches Poisson and quasi-Poisson', () => {
    expectFit(fitted({ ...input, family: 'poisson' }), expected.poisson);
    expectFit(fitted({ ...input, family: 'quasi-poisson' }), expected.quasipoisson);
  });

  it('matches the negative binomial with its size and standard error', () => {
    const fit = fitted({ ...input, family: 'negative-binomial' });
    // The reference stops its alternation near 1e-7 of θ.
    expectFit(fit, expected.negbin, 1e-7);
    expectClose(fit.size!.theta, expected.negbin.theta, 1e-6, 'θ');
    expectClose(fit.size!.standardError, expected.negbin.theta_se, 1e-6, 'error of θ');
  });
});

describe('fitCounts on a three by three table (Dobson 1990)', () => {
  const { rows } = dataJson('dobson-counts') as { rows: Row[] };

  it('matches the Poisson fit; automatic finds nothing beyond Poisson', () => {
    const columns = [one, is(1, '2'), is(1, '3'), is(2, '2'), is(2, '3')];
    const fit = fitted({
      x: matrix(rows, columns),
      counts: numbers(rows, 0),
      family: 'automatic',
    });
    expect(fit.family).toBe('poisson');
    expectFit(fit, expectedOf('dobson-counts').poisson);
  });
});
