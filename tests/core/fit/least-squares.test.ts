import {
  type DomainError,
  denseFromRows,
  describeAliased,
  describeLackOfFit,
  lackOfFit,
  leastSquares,
  pointPrediction,
  quickLook,
  replicateGroups,
  runDiagnostics,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';

const code = (run: () => unknown): string => {
  try {
    run();
  } catch (error) {
    return (error as DomainError).code;
  }
  return 'nothing thrown';
};

const line = denseFromRows([
  [1, 1],
  [1, 2],
  [1, 3],
  [1, 4],
]);

describe('leastSquares', () => {
  it('matches a line worked by hand', () => {
    // x̄ = 2.5, ȳ = 4, Sxx = 5, Sxy = 8: slope 1.6, intercept 0; residuals 0.4, −0.2, −0.8, 0.6.
    const fit = leastSquares({ x: line, y: Float64Array.of(2, 3, 4, 7) });
    if (fit.kind !== 'fitted') throw new Error(fit.kind);
    expect(fit.coefficients[0]).toBeCloseTo(0, 12);
    expect(fit.coefficients[1]).toBeCloseTo(1.6, 14);
    expect([...fit.residuals].map((r) => Number(r.toFixed(12)))).toEqual([0.4, -0.2, -0.8, 0.6]);
    expect(fit.rss).toBeCloseTo(1.2, 13);
    expect(fit.residualSd).toBeCloseTo(Math.sqrt(0.6), 14);
    expect(fit.standardErrors[1]).toBeCloseTo(Math.sqrt(0.6 / 5), 14);
    expect(fit.totalSs).toBeCloseTo(14, 13);
    expect([...fit.leverages].map((h) => Number(h.toFixed(12)))).toEqual([0.7, 0.3, 0.3, 0.7]);
  });

  it('weighs a run of weight 2 as two runs for estimates, rss and leverage', () => {
    const twice = leastSquares({
      x: denseFromRows([
        [1, 1],
        [1, 2],
        [1, 2],
        [1, 3],
      ]),
      y: Float64Array.of(1, 5, 5, 2),
    });
    const weighted = leastSquares({
      x: denseFromRows([
        [1, 1],
        [1, 2],
        [1, 3],
      ]),
      y: Float64Array.of(1, 5, 2),
      weights: Float64Array.of(1, 2, 1),
    });
    if (twice.kind !== 'fitted' || weighted.kind !== 'fitted') throw new Error('not fitted');
    expect(weighted.coefficients[1]).toBeCloseTo(twice.coefficients[1]!, 13);
    expect(weighted.rss).toBeCloseTo(twice.rss, 12);
    expect(weighted.totalSs).toBeCloseTo(twice.totalSs, 12);
    expect(weighted.leverages[1]).toBeCloseTo(2 * twice.leverages[1]!, 12);
    expect(weighted.dfResidual).toBe(1);
  });

  it('is saturated when terms equal runs: estimates, no errors', () => {
    const fit = leastSquares({
      x: denseFromRows([
        [1, -1],
        [1, 1],
      ]),
      y: Float64Array.of(3, 7),
    });
    expect(fit.kind).toBe('saturated');
    expect('standardErrors' in fit).toBe(false);
    expect(fit.kind === 'saturated' && [...fit.coefficients]).toEqual([5, 2]);
  });

  it('answers aliased columns by name', () => {
    const x = denseFromRows([
      [1, 1, 0, 1],
      [1, 2, 1, 3],
      [1, 3, 0, 3],
      [1, 4, 1, 5],
      [1, 5, 0, 5],
    ]);
    const fit = leastSquares({ x, y: Float64Array.of(1, 2, 3, 4, 6) });
    if (fit.kind !== 'aliased') throw new Error(fit.kind);
    expect([fit.rank, fit.involved, fit.leaveOut]).toEqual([3, [1, 2, 3], [3]]);
    expect(describeAliased(fit, ['intercept', 'level', 'fan', 'screw'])).toBe(
      'screw cannot be told from level + fan',
    );
  });

  it('is aliased, not broken, with more columns than runs or no runs', () => {
    const few = leastSquares({ x: denseFromRows([[1, 2, 3]]), y: Float64Array.of(1) });
    expect(few.kind === 'aliased' && few.leaveOut).toEqual([1, 2]);
    const none = leastSquares({
      x: { rows: 0, cols: 2, data: new Float64Array(0) },
      y: new Float64Array(0),
    });
    expect(none.kind === 'aliased' && none.rank).toBe(0);
  });

  it('leaves its input alone', () => {
    const y = Float64Array.of(2, 3, 4, 7);
    const weights = Float64Array.of(1, 2, 1, 1);
    const copies = [line.data.slice(), y.slice(), weights.slice()];
    leastSquares({ x: line, y, weights });
    expect([line.data, y, weights]).toEqual(copies);
  });

  it('throws shape_mismatch, not_finite and bad_weight', () => {
    const y = Float64Array.of(2, 3, 4, 7);
    expect(code(() => leastSquares({ x: line, y: y.slice(1) }))).toBe('shape_mismatch');
    expect(code(() => leastSquares({ x: line, y: Float64Array.of(2, 3, Number.NaN, 7) }))).toBe(
      'not_finite',
    );
    expect(code(() => leastSquares({ x: line, y, weights: Float64Array.of(1, 0, 1, 1) }))).toBe(
      'bad_weight',
    );
    expect(() =>
      leastSquares({ x: line, y, weights: Float64Array.of(1, 0, 1, 1) }),
    ).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: leastSquares: every weight must be a positive number; got 0 (run 2). Leave the run out or give it a weight.]`,
    );
  });
});

describe('pointPrediction', () => {
  it('matches intervals worked by hand', () => {
    // The line above at x = 5: 8, variance share 1/4 + 2.5²/5 = 1.5, t(0.975; 2 df) = 4.30265 (table).
    const fit = leastSquares({ x: line, y: Float64Array.of(2, 3, 4, 7) });
    if (fit.kind !== 'fitted') throw new Error(fit.kind);
    const found = pointPrediction(fit, Float64Array.of(1, 5));
    expect(found.estimate).toBeCloseTo(8, 12);
    expect(found.standardError).toBeCloseTo(Math.sqrt(0.9), 12);
    expect(found.confidence[1] - 8).toBeCloseTo(4.30265 * Math.sqrt(0.9), 4);
    expect(found.prediction[1] - 8).toBeCloseTo(4.30265 * Math.sqrt(1.5), 4);
    expect(code(() => pointPrediction(fit, Float64Array.of(1)))).toBe('shape_mismatch');
    expect(code(() => pointPrediction(fit, Float64Array.of(1, 5), { level: 95 }))).toBe(
      'bad_level',
    );
  });
});

describe('lackOfFit', () => {
  const y = Float64Array.of(1, 3, 4, 4.5);
  const fitOf = (rows: number[][], values: Float64Array) => {
    const fit = leastSquares({ x: denseFromRows(rows), y: values });
    if (fit.kind === 'aliased') throw new Error('aliased');
    return fit;
  };

  it('reports no-replicates when every run is distinct', () => {
    const fit = fitOf(
      [
        [1, 1],
        [1, 2],
        [1, 3],
        [1, 4],
      ],
      y,
    );
    const points = [1, 2, 3, 4].map((a) => ({ a }));
    expect(lackOfFit(fit, y, replicateGroups(points))).toEqual({ kind: 'no-replicates' });
  });

  it('reports saturated when the terms use up the distinct runs', () => {
    const fit = fitOf(
      [
        [1, -1],
        [1, 1],
        [1, 1],
        [1, -1],
      ],
      y,
    );
    const points = [-1, 1, 1, -1].map((a) => ({ a }));
    const found = lackOfFit(fit, y, replicateGroups(points));
    expect(describeLackOfFit(found)).toBe('not testable: 2 terms on 2 distinct runs');
  });

  it('reports identical-replicates when repeats agree to the last digit', () => {
    const values = Float64Array.of(1, 4, 2, 2);
    const fit = fitOf(
      [
        [1, -1],
        [1, 1],
        [1, 0],
        [1, 0],
      ],
      values,
    );
    const points = [-1, 1, 0, 0].map((a) => ({ a }));
    expect(lackOfFit(fit, values, replicateGroups(points)).kind).toBe('identical-replicates');
  });
});

describe('replicateGroups', () => {
  it('joins settings within 1e-9 and parts blocks and levels', () => {
    const points = [{ a: 0.1 + 0.2 }, { a: 0.3 }, { a: 0.300001 }];
    expect([...replicateGroups(points)]).toEqual([0, 0, 1]);
    expect([...replicateGroups(points, [1, 2, 1])]).toEqual([0, 1, 2]);
    expect([...replicateGroups([{ n: 'x' }, { n: 'y' }, { n: 'x' }])]).toEqual([0, 1, 0]);
  });
});

describe('runDiagnostics', () => {
  it('has no studentised value for a run that carries a term alone', () => {
    const fit = leastSquares({
      x: denseFromRows([
        [1, 0],
        [1, 0],
        [1, 0],
        [1, 1],
      ]),
      y: Float64Array.of(1, 2, 3, 9),
    });
    if (fit.kind !== 'fitted') throw new Error(fit.kind);
    const rows = runDiagnostics(fit);
    expect([rows[3]!.studentised, rows[3]!.deletedStudentised, rows[3]!.cooksDistance]).toEqual([
      null,
      null,
      null,
    ]);
    expect(rows[0]!.studentised).toBeCloseTo(-1 / Math.sqrt(1 - 1 / 3), 12);
  });
});

describe('quickLook', () => {
  it('says too few cells, then aliased, then looks', () => {
    const y = Float64Array.of(2, 3, 4, 7);
    expect(quickLook(denseFromRows([[1, 1]]), y.slice(0, 1)).kind).toBe('too-few-cells');
    expect(
      quickLook(
        denseFromRows([
          [1, 1],
          [1, 1],
        ]),
        y.slice(0, 2),
      ).kind,
    ).toBe('aliased');
    const found = quickLook(line, y);
    expect(found.kind === 'looked' && found.coefficients[1]).toBeCloseTo(1.6, 12);
  });
});
