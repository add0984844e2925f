import { conferenceMatrix, conferenceOrders, designOf } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { codedRows, gram, inverse, sampleFactors } from '../core/design/sample-factors.ts';
import { expectClose, expectedOf } from './dataset.ts';

// Paley (1933); Jones & Nachtsheim (2011). Integers exact, ratios to 1e-12.

const cases: [number, Record<string, number>][] = Object.entries(
  expectedOf('conference-screening') as Record<string, Record<string, number>>,
).map(([order, values]) => [Number(order), values]);

describe('conferenceMatrix', () => {
  it.each(conferenceOrders)('has CᵀC = (m − 1)·I and a zero diagonal with m = %i', (m) => {
    const { data } = conferenceMatrix(m);
    const rows = Array.from({ length: m }, (_, i) => Array.from(data.subarray(i * m, (i + 1) * m)));
    const products = gram(rows);
    for (let i = 0; i < m; i++) {
      for (let j = 0; j < m; j++) {
        expect(products[i]![j]).toBe(i === j ? m - 1 : 0);
        expect(Math.abs(rows[i]![j]!)).toBe(i === j ? 0 : 1);
      }
    }
  });
});

describe('definitive screening', () => {
  it.each(cases)('has the published size, correlation and variances with %i factors', (m, want) => {
    const design = designOf({
      factors: sampleFactors(m),
      model: 'main',
      family: 'definitive screening',
    });
    const rows = codedRows(design);
    expect(rows).toHaveLength(want['dsd_runs']!);
    const squares = rows.map((row) => row.map((value) => value * value));
    const mean = squares.reduce((sum, row) => sum + row[0]!, 0) / rows.length;
    const covariance = (a: number, b: number): number =>
      squares.reduce((sum, row) => sum + (row[a]! - mean) * (row[b]! - mean), 0);
    const correlation = covariance(0, 1) / covariance(0, 0);
    expect(Math.abs(correlation - want['dsd_corr_between_quadratic_columns']!)).toBeLessThan(1e-12);
    const model = rows.map((row) => [1, ...row, ...row.map((value) => value * value)]);
    const variances = inverse(gram(model)).inverse.map((row, i) => row[i]!);
    expectClose(variances[0]!, want['var_intercept_over_sigma2']!, 1e-10, 'intercept');
    expectClose(variances[1]!, want['var_main_effect_over_sigma2']!, 1e-10, 'main effect');
    expectClose(variances[m + 1]!, want['var_quadratic_over_sigma2']!, 1e-10, 'square');
  });
});
