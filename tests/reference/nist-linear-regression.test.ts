import { anova, determination, leastSquares } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { column, correctDigits, dataTable, expectedOf } from './dataset.ts';

// NIST Statistical Reference Datasets, linear regression. Digits asked for, on raw columns.
// Filip's powers of x up to 10 are near collinear: rounding the columns to doubles alone moves the
// exact answer in about the ninth digit, so eight is what the columns hold.
const sets = [
  { slug: 'nist-norris', degree: 1, coefficients: 12, errors: 12 },
  { slug: 'nist-pontius', degree: 2, coefficients: 12, errors: 12 },
  { slug: 'nist-no-intercept-1', degree: 0, coefficients: 13, errors: 13 },
  { slug: 'nist-longley', degree: null, coefficients: 12, errors: 12 },
  { slug: 'nist-filip', degree: 10, coefficients: 7, errors: 7 },
  { slug: 'nist-wampler-1', degree: 5, coefficients: 9, errors: 9 },
  { slug: 'nist-wampler-2', degree: 5, coefficients: 9, errors: 9 },
  { slug: 'nist-wampler-3', degree: 5, coefficients: 9, errors: 9 },
  { slug: 'nist-wampler-5', degree: 5, coefficients: 9, errors: 9 },
] as const;

function rawModel(slug: string, degree: number | null) {
  const table = dataTable(slug);
  const rows = table.rows.map((row) => {
    if (degree === null) return [1, ...row.slice(1)];
    if (degree === 0) return [row[1]!];
    return Array.from({ length: degree + 1 }, (_, k) => row[1]! ** k);
  });
  const cols = rows[0]!.length;
  return {
    x: { rows: rows.length, cols, data: Float64Array.from(rows.flat()) },
    y: column(table, 'y'),
  };
}

describe.each(sets)('leastSquares on $slug', ({ slug, degree, coefficients, errors }) => {
  const exact = expectedOf(slug).exact_20_digits;
  const fit = leastSquares(rawModel(slug, degree));
  if (fit.kind !== 'fitted') throw new Error(`${slug} is ${fit.kind}`);

  it(`gives every coefficient to ${coefficients} digits`, () => {
    const digits = fit.coefficients.map((value, j) => correctDigits(value, Number(exact.coef[j])));
    expect(Math.min(...digits), `digits ${digits}`).toBeGreaterThanOrEqual(coefficients);
  });

  it(`gives every standard error to ${errors} digits`, () => {
    const digits = fit.standardErrors.map((value, j) => correctDigits(value, Number(exact.se[j])));
    expect(Math.min(...digits), `digits ${digits}`).toBeGreaterThanOrEqual(errors);
  });

  it('gives R², the residual SD and the model sum of squares', () => {
    const table = anova(fit, []);
    expect(correctDigits(fit.residualSd, Number(exact.rsd))).toBeGreaterThanOrEqual(7.5);
    expect(correctDigits(determination(fit).rSquared!, Number(exact.r2))).toBeGreaterThanOrEqual(9);
    expect(correctDigits(table.model.ss, Number(exact.ss_reg))).toBeGreaterThanOrEqual(9);
    if (Number(exact.ss_res) > 0)
      expect(correctDigits(table.model.f!, Number(exact.F))).toBeGreaterThanOrEqual(7.5);
    else expect(fit.isPerfect).toBe(true);
  });
});
