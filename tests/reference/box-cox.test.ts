import { boxCox, type Dense, leastSquares } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { column, dataJson, dataTable, expectClose, expectedOf, matrixFor } from './dataset.ts';

// Box & Cox (1964), poisons; tolerances as stated in expected.json.

const [rows, expected] = [
  dataJson('box-cox-poisons').poisons.rows as [number, number, string][],
  expectedOf('box-cox-poisons'),
];
const y = Float64Array.from(rows, (row) => row[0]);

/** Contrasts of 3 poisons and 4 treatments that sum to zero, with or without their products. */
function poisonsMatrix(withProducts: boolean): Dense {
  const data = rows.map(([, poison, treat]) => {
    const a = [1, 2].map((level) => (poison === level ? 1 : poison === 3 ? -1 : 0));
    const b = ['A', 'B', 'C'].map((level) => (treat === level ? 1 : treat === 'D' ? -1 : 0));
    const products = withProducts ? a.flatMap((u) => b.map((v) => u * v)) : [];
    return [1, ...a, ...b, ...products];
  });
  return { rows: data.length, cols: data[0]!.length, data: Float64Array.from(data.flat()) };
}

describe('boxCox', () => {
  it.each([
    ['poisons_additive', false],
    ['poisons_with_interaction', true],
  ] as const)('matches lambda, likelihood and interval of %s', (name, withProducts) => {
    const found = boxCox(poisonsMatrix(withProducts), y);
    if (found.kind !== 'profiled') throw new Error(found.kind);
    const wanted = expected[name];
    expect(Math.abs(found.lambda - wanted.lambda_hat)).toBeLessThan(1e-4);
    expect(Math.abs(found.logLikelihood - wanted.profile_loglik_at_max)).toBeLessThan(1e-8);
    expect(Math.abs(found.interval[0]! - wanted.ci95[0])).toBeLessThan(1e-4);
    expect(Math.abs(found.interval[1]! - wanted.ci95[1])).toBeLessThan(1e-4);
    expectClose(found.geometricMean, wanted.geometric_mean, 1e-12, 'geometric mean');
    for (const { lambda, profile_loglik } of wanted.grid) {
      const at = found.profile.find((point) => Math.abs(point.lambda - lambda) < 1e-9);
      if (at)
        expect(Math.abs(at.logLikelihood - profile_loglik), `at ${lambda}`).toBeLessThan(1e-8);
    }
  });

  it('matches the published lambda −0.75 of the additive model', () => {
    const found = boxCox(poisonsMatrix(false), y);
    expect(found.kind === 'profiled' && found.lambda.toFixed(2)).toBe('-0.75');
  });

  it('finds the maximiser and interval of the ceramics factorial within the grid of the source', () => {
    const ceramics = expectedOf('ceramics-factorial');
    const table = dataTable('ceramics-factorial');
    const labels = Object.keys(ceramics.model_12_terms.coefficients);
    const found = boxCox(matrixFor(table, labels), column(table, 'strength'));
    if (found.kind !== 'profiled') throw new Error(found.kind);
    const wanted = ceramics.boxcox_12_terms;
    expect(Math.abs(found.lambda - wanted['lambda_hat_grid_0.001'])).toBeLessThan(0.002);
    expect(Math.abs(found.interval[0]! - wanted.ci95[0])).toBeLessThan(0.002);
    expect(Math.abs(found.interval[1]! - wanted.ci95[1])).toBeLessThan(0.002);
  });

  it('names the run that is not positive', () => {
    const bad = y.slice();
    bad[3] = 0;
    expect(boxCox(poisonsMatrix(false), bad)).toEqual({ kind: 'not-positive', row: 3, value: 0 });
  });

  it('agrees with the analysis of reciprocals', () => {
    const fit = leastSquares({ x: poisonsMatrix(false), y: y.map((value) => 1 / value) });
    if (fit.kind !== 'fitted') throw new Error(fit.kind);
    const wanted = expected.poisons_reciprocal_additive.fit;
    expectClose(fit.rss, wanted.rss, 1e-9, 'rss');
    expectClose(fit.residualSd, wanted.sigma, 1e-9, 'residual SD');
  });
});
