import {
  cholesky,
  choleskyInverse,
  choleskyLogDeterminant,
  choleskySolve,
  seededUniform,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

function factorOf(a: number[], n: number): Float64Array {
  const result = cholesky(Float64Array.from(a), n);
  if (result.kind !== 'factored') throw new Error(`not factored at pivot ${result.pivot}`);
  return result.lower;
}

/** BᵀB + I, so definite, for a seed. */
function definite(n: number, seed: number): number[] {
  const uniform = seededUniform(seed);
  const b = Array.from({ length: n * n }, () => 2 * uniform() - 1);
  return Array.from({ length: n * n }, (_, at) => {
    const i = Math.floor(at / n);
    const j = at % n;
    let s = i === j ? 1 : 0;
    for (let k = 0; k < n; k++) s += b[k * n + i]! * b[k * n + j]!;
    return s;
  });
}

describe('cholesky', () => {
  // Worked by hand: [[4,2],[2,5]] = LLᵀ with L = [[2,0],[1,2]]; determinant 16.
  it('factors, solves and inverts a 2 by 2 matrix done by hand', () => {
    const lower = factorOf([4, 2, 2, 5], 2);
    expect([...lower]).toEqual([2, 0, 1, 2]);
    expect(choleskyLogDeterminant(lower, 2)).toBeCloseTo(Math.log(16), 14);
    expect([...choleskySolve(lower, 2, Float64Array.of(8, 9))]).toEqual([1.375, 1.25]);
    expect([...choleskyInverse(lower, 2)]).toEqual([0.3125, -0.125, -0.125, 0.25]);
  });

  it('names the pivot when the matrix is not positive definite', () => {
    expect(cholesky(Float64Array.of(1, 2, 2, 1), 2)).toEqual({
      kind: 'not-positive-definite',
      pivot: 1,
    });
  });

  it('names the pivot when two columns are the same', () => {
    const g = Float64Array.of(3, 3, 3, 3);
    expect(cholesky(g, 2)).toEqual({ kind: 'not-positive-definite', pivot: 1 });
    expect([...g]).toEqual([3, 3, 3, 3]);
  });

  it('throws shape_mismatch when the matrix is not square', () => {
    expect(() => cholesky(new Float64Array(3), 2)).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: cholesky: the matrix must have 2² entries; got 3 (row-major). Pass a square matrix and its order.]`,
    );
  });

  it('law: the inverse times the matrix is the identity, any order', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 12 }), fc.integer(), (n, seed) => {
        const a = definite(n, seed);
        const inverse = choleskyInverse(factorOf(a, n), n);
        for (let i = 0; i < n; i++) {
          for (let j = 0; j < n; j++) {
            let s = 0;
            for (let k = 0; k < n; k++) s += a[i * n + k]! * inverse[k * n + j]!;
            // Condition number is at most some 50 here, so rounding stays near 1e-14.
            expect(Math.abs(s - (i === j ? 1 : 0))).toBeLessThan(1e-12);
          }
        }
      }),
      { seed: 2, numRuns: 50 },
    );
  });
});
