import { alphaOf, designOf } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import {
  codedRows,
  gram,
  inverse,
  quadraticRow,
  sampleFactors,
} from '../core/design/sample-factors.ts';
import { expectClose, expectedOf } from './dataset.ts';

// Box & Hunter (1957), Box & Behnken (1960). Computed values to 1e-10, printed ones to half a digit.

const expected = expectedOf('second-order-designs');
const composite = (k: number, options: Readonly<Record<string, unknown>>) =>
  designOf({ factors: sampleFactors(k), model: 'quadratic', family: 'central composite', options });
const cubeRuns = (factorial: string): number => {
  const [, k, p] = /2\^\(?(\d)-?(\d?)/.exec(factorial)!;
  return 2 ** (Number(k) - Number(p || 0));
};
const axialDistance = (rows: readonly (readonly number[])[]): number =>
  Math.max(...rows.flat().map(Math.abs));

describe('central composite', () => {
  it.each(expected.rotatable as { k: number; factorial: string }[])(
    'matches the rotatable distance and variances of $k factors, $factorial',
    (want) => {
      const { k, factorial, alpha, published, runs_with_5_centre, ...rest } = want as typeof want &
        Record<string, number>;
      const design = composite(k, {
        alpha: 'rotatable',
        cubeRuns: cubeRuns(factorial),
        centrePoints: 5,
      });
      const rows = codedRows(design);
      expect(rows).toHaveLength(runs_with_5_centre!);
      expectClose(axialDistance(rows), alpha!, 1e-12, 'axial distance');
      expect(Math.abs(axialDistance(rows) - published!)).toBeLessThanOrEqual(0.5e-3);
      const { inverse: covariance } = inverse(gram(rows.map(quadraticRow)));
      const v = rest['with_5_centre_var_over_sigma2'] as unknown as Record<string, number>;
      expectClose(covariance[0]![0]!, v['intercept']!, 1e-10, 'intercept');
      expectClose(covariance[1]![1]!, v['linear']!, 1e-10, 'linear');
      expectClose(covariance[k + 1]![k + 1]!, v['quadratic']!, 1e-10, 'square');
      expectClose(covariance[2 * k + 1]![2 * k + 1]!, v['interaction']!, 1e-10, 'interaction');
      // Rotatable: the same variance along an axis and along the diagonal at one radius.
      const variance = (x: readonly number[]): number => {
        const row = quadraticRow(x);
        return row.reduce(
          (sum, a, i) => sum + a * row.reduce((part, b, j) => part + covariance[i]![j]! * b, 0),
          0,
        );
      };
      const axis = Array.from({ length: k }, (_, i) => (i === 0 ? 1 : 0));
      const diagonal = new Array<number>(k).fill(1 / Math.sqrt(k));
      expectClose(variance(diagonal), variance(axis), 1e-10, 'rotatability');
    },
  );

  it.each(
    expected.orthogonally_blocked as {
      k: number;
      factorial: string;
      cube_blocks: number;
      centre_per_cube_block: number;
      axial_block_centre: number;
      alpha: number;
      published: number;
      runs: number;
    }[],
  )('matches the orthogonally blocked design of $k factors, $factorial', (want) => {
    const design = composite(want.k, {
      cubeRuns: cubeRuns(want.factorial),
      cubeBlocks: want.cube_blocks,
      centrePoints: { cube: want.centre_per_cube_block, axial: want.axial_block_centre },
    });
    const rows = codedRows(design);
    expect(rows).toHaveLength(want.runs);
    expectClose(axialDistance(rows), want.alpha, 1e-12, 'axial distance');
    expect(Math.abs(axialDistance(rows) - want.published)).toBeLessThanOrEqual(0.5e-3);
    // Orthogonal blocks: every model column has the same mean in every block.
    const model = rows.map(quadraticRow);
    const meanOf = (column: number, block: number | null): number => {
      const values = model.filter((_, i) => block === null || design.runs[i]!.block === block);
      return values.reduce((sum, row) => sum + row[column]!, 0) / values.length;
    };
    const blocks = new Set(design.runs.map(({ block }) => block));
    expect(blocks.size).toBe(want.cube_blocks + 1);
    for (const block of blocks) {
      for (let column = 0; column < model[0]!.length; column++) {
        expect(Math.abs(meanOf(column, block) - meanOf(column, null))).toBeLessThan(1e-12);
      }
    }
  });

  it.each(
    expected.orthogonal_quadratics as {
      k: number;
      factorial: string;
      n_centre: number;
      alpha_orthogonal_quadratics: number;
    }[],
  )(
    'matches the distance of orthogonal squares, $factorial with $n_centre at the centre',
    (want) => {
      const alpha = alphaOf('orthogonal quadratics', {
        factors: want.k,
        cubeRuns: cubeRuns(want.factorial),
        cubeCentres: want.n_centre,
        axialCentres: 0,
      });
      expectClose(alpha, want.alpha_orthogonal_quadratics, 1e-12, 'axial distance');
    },
  );
});

describe('box-behnken', () => {
  it.each(
    expected.box_behnken as {
      k: number;
      centre: number;
      runs: number;
      edge_points: number;
      log_det_XtX: number;
      var_over_sigma2: Record<string, number>;
    }[],
  )('matches size, determinant and variances of $k factors', (want) => {
    const design = designOf({
      factors: sampleFactors(want.k),
      model: 'quadratic',
      family: 'box-behnken',
    });
    const rows = codedRows(design);
    expect(rows).toHaveLength(want.runs);
    expect(design.runs.filter(({ kind }) => kind === 'centre')).toHaveLength(want.centre);
    expect(design.runs.filter(({ kind }) => kind === 'edge')).toHaveLength(want.edge_points);
    const { inverse: covariance, logDet } = inverse(gram(rows.map(quadraticRow)));
    expectClose(logDet, want.log_det_XtX, 1e-10, 'log determinant');
    const v = want.var_over_sigma2;
    expectClose(covariance[0]![0]!, v['intercept']!, 1e-10, 'intercept');
    expectClose(covariance[1]![1]!, v['linear']!, 1e-10, 'linear');
    expectClose(covariance[want.k + 1]![want.k + 1]!, v['quadratic']!, 1e-10, 'square');
  });
});
