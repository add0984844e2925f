import {
  aliasWeights,
  applyQInto,
  applyQTransposedInto,
  type Dense,
  type DomainError,
  denseFromRows,
  qrFactor,
  singularValues,
  solveLower,
  solveLowerTransposed,
  solveUpper,
  solveUpperTransposed,
  symmetricEigen,
  thinQ,
  upperFactor,
  upperInverse,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const matrix = fc
  .tuple(fc.integer({ min: 1, max: 7 }), fc.integer({ min: 1, max: 5 }))
  .chain(([rows, cols]) =>
    fc
      .array(fc.double({ min: -10, max: 10, noNaN: true }), {
        minLength: rows * cols,
        maxLength: rows * cols,
      })
      .map((data): Dense => ({ rows, cols, data: Float64Array.from(data) })),
  );

describe('qrFactor', () => {
  it('law: Q R gives the scaled kept columns back, any shape', () => {
    fc.assert(
      fc.property(matrix, (x) => {
        const before = x.data.slice();
        const factor = qrFactor(x);
        expect(x.data).toEqual(before);
        const r = upperFactor(factor);
        for (const [k, j] of factor.kept.entries()) {
          const column = new Float64Array(x.rows);
          for (let i = 0; i <= k; i++) column[i] = r.data[i * r.cols + k]!;
          applyQInto(column, factor);
          for (let i = 0; i < x.rows; i++)
            expect(Math.abs(column[i]! * factor.scale[j]! - x.data[i * x.cols + j]!)).toBeLessThan(
              1e-12,
            );
        }
      }),
      { seed: 1 },
    );
  });

  it('law: Q is orthogonal and its transpose undoes it', () => {
    fc.assert(
      fc.property(matrix, (x) => {
        const factor = qrFactor(x);
        const v = Float64Array.from({ length: x.rows }, (_, i) => Math.sin(i + 1));
        const turned = v.slice();
        applyQTransposedInto(turned, factor);
        applyQInto(turned, factor);
        for (let i = 0; i < v.length; i++) expect(turned[i]).toBeCloseTo(v[i]!, 12);
        const q = thinQ(factor);
        for (let a = 0; a < factor.rank; a++)
          for (let b = 0; b < factor.rank; b++) {
            let sum = 0;
            for (let i = 0; i < x.rows; i++) sum += q[a * x.rows + i]! * q[b * x.rows + i]!;
            expect(sum).toBeCloseTo(a === b ? 1 : 0, 12);
          }
      }),
      { seed: 2 },
    );
  });

  it('keeps the order of the columns and names the later of two equal ones', () => {
    const x = denseFromRows([
      [1, 2, 2, 0, 1],
      [1, 3, 3, 0, 0],
      [1, 5, 5, 0, 4],
      [1, 7, 7, 0, 2],
    ]);
    const factor = qrFactor(x);
    expect([...factor.kept]).toEqual([0, 1, 4]);
    expect([...factor.aliased]).toEqual([2, 3]);
    const weights = aliasWeights(factor);
    expect([...weights.data]).toEqual([0, expect.closeTo(1, 12), 0, 0, 0, 0]);
  });

  it('measures the rank that singular values show', () => {
    // The half fraction c = ab with all products: 7 columns, rank 4.
    const half = [
      [-1, -1, 1],
      [1, -1, -1],
      [-1, 1, -1],
      [1, 1, 1],
    ];
    const x = denseFromRows(half.map(([a, b, c]) => [1, a!, b!, c!, a! * b!, a! * c!, b! * c!]));
    expect(qrFactor(x).rank).toBe(4);
    expect(singularValues(x).filter((value) => value > 1e-10).length).toBe(4);
  });

  it('throws not_finite with row and column', () => {
    const x = denseFromRows([
      [1, 2],
      [1, Number.NaN],
    ]);
    expect(() => qrFactor(x)).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: qrFactor: every entry must be finite; got NaN (row 1, column 1). Mend or leave out the row.]`,
    );
    try {
      qrFactor(x);
    } catch (error) {
      expect((error as DomainError).code).toBe('not_finite');
    }
  });

  it('takes columns of very different size', () => {
    const x = denseFromRows([
      [1e-120, 1e150],
      [2e-120, -1e150],
      [1e-120, 3e150],
    ]);
    expect(qrFactor(x).rank).toBe(2);
  });

  it('counts a column of denormal numbers as zero', () => {
    const factor = qrFactor(
      denseFromRows([
        [1, 5e-324],
        [1, 0],
        [1, 1e-160],
      ]),
    );
    expect([...factor.aliased]).toEqual([1]);
  });
});

describe('triangular solves', () => {
  const r = denseFromRows([
    [2, 1, -1],
    [0, 4, 0.5],
    [0, 0, 3],
  ]);
  const l = denseFromRows([
    [2, 0, 0],
    [1, 4, 0],
    [-1, 0.5, 3],
  ]);
  const b = Float64Array.of(3, -2, 6);

  it('solves by hand-worked numbers', () => {
    // z3 = 2, z2 = (−2 − 1)/4, z1 = (3 + 0.75 + 2)/2.
    expect([...solveUpper(r, b)]).toEqual([2.875, -0.75, 2]);
    expect([...solveLower(l, b)]).toEqual([1.5, -0.875, expect.closeTo(2.6458333333333335, 14)]);
  });

  it('solves transposes alike', () => {
    expect([...solveUpperTransposed(r, b)]).toEqual([...solveLower(l, b)]);
    expect([...solveLowerTransposed(l, b)]).toEqual([...solveUpper(r, b)]);
  });

  it('inverts', () => {
    const inverse = upperInverse(r);
    for (let j = 0; j < 3; j++) {
      const column = Float64Array.from({ length: 3 }, (_, i) => (i === j ? 1 : 0));
      const solved = solveUpper(r, column);
      for (let i = 0; i < 3; i++) expect(inverse.data[i * 3 + j]).toBeCloseTo(solved[i]!, 14);
    }
  });

  it('throws singular_factor on a zero diagonal and shape_mismatch on a short side', () => {
    const code = (run: () => unknown): string => {
      try {
        run();
      } catch (error) {
        return (error as DomainError).code;
      }
      return 'nothing thrown';
    };
    expect(code(() => solveUpper(denseFromRows([[0]]), Float64Array.of(1)))).toBe(
      'singular_factor',
    );
    expect(code(() => solveUpper(r, Float64Array.of(1)))).toBe('shape_mismatch');
  });
});

describe('symmetricEigen', () => {
  it('matches a matrix with known eigenvalues: 2 and 1 on the main axes turned by 45°', () => {
    const { values, vectors } = symmetricEigen(
      denseFromRows([
        [1.5, 0.5],
        [0.5, 1.5],
      ]),
    );
    expect([...values]).toEqual([expect.closeTo(2, 14), expect.closeTo(1, 14)]);
    expect(vectors.data[0]).toBeCloseTo(Math.SQRT1_2, 14);
    expect(vectors.data[2]).toBeCloseTo(Math.SQRT1_2, 14);
  });

  it('law: vectors are orthonormal and give the matrix back', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: 16, maxLength: 16 }),
        (entries) => {
          const n = 4;
          const data = Float64Array.from({ length: 16 }, (_, at) => {
            const [i, j] = [Math.floor(at / n), at % n];
            return entries[Math.min(i, j) * n + Math.max(i, j)]!;
          });
          const { values, vectors } = symmetricEigen({ rows: n, cols: n, data });
          for (let i = 0; i < n; i++)
            for (let j = 0; j < n; j++) {
              let sum = 0;
              let product = 0;
              for (let k = 0; k < n; k++) {
                sum += vectors.data[i * n + k]! * values[k]! * vectors.data[j * n + k]!;
                product += vectors.data[k * n + i]! * vectors.data[k * n + j]!;
              }
              expect(Math.abs(sum - data[i * n + j]!)).toBeLessThan(1e-12);
              expect(Math.abs(product - (i === j ? 1 : 0))).toBeLessThan(1e-12);
            }
          expect([...values]).toEqual([...values].sort((a, b) => b - a));
        },
      ),
      { seed: 3 },
    );
  });
});
