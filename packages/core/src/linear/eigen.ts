import { EigenvalueDecomposition, SingularValueDecomposition } from 'ml-matrix';
import { DomainError } from '../error/domain-error.ts';
import { matrixOf } from './convert.ts';
import type { Dense } from './dense.ts';

/** Eigenvalues in descending order; column j of `vectors`, shape (n, n), belongs to value j. */
export interface SymmetricEigen {
  readonly values: Float64Array;
  readonly vectors: Dense;
}

/**
 * Eigenvalues and orthonormal eigenvectors of a symmetric matrix, largest value first. The sign of
 * each vector is fixed so that its largest entry is positive: two machines give one answer.
 *
 * @param a - symmetric, shape (n, n); only its symmetric part (a + aᵀ)/2 is used
 * @throws {DomainError} `not_square` when rows and columns differ
 * @throws {DomainError} `not_finite` when an entry is NaN or infinite
 */
export function symmetricEigen(a: Dense): SymmetricEigen {
  const n = a.rows;
  if (n !== a.cols) {
    throw new DomainError(
      'not_square',
      `symmetricEigen: the matrix must be square; got ${a.rows} by ${a.cols}. Pass XᵀX or a quadratic form.`,
      { rows: a.rows, cols: a.cols },
    );
  }
  refuseNonFinite(a, 'symmetricEigen');
  const half = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) half[i * n + j] = (a.data[i * n + j]! + a.data[j * n + i]!) / 2;
  const found = new EigenvalueDecomposition(matrixOf({ rows: n, cols: n, data: half }), {
    assumeSymmetric: true,
  });
  const order = found.realEigenvalues.map((_, j) => j);
  order.sort((p, q) => found.realEigenvalues[q]! - found.realEigenvalues[p]!);
  const values = Float64Array.from(order, (j) => found.realEigenvalues[j]!);
  const vectors = new Float64Array(n * n);
  for (const [to, from] of order.entries()) {
    let largest = 0;
    for (let i = 0; i < n; i++) {
      const entry = found.eigenvectorMatrix.get(i, from);
      if (Math.abs(entry) > Math.abs(largest) + 1e-9) largest = entry;
    }
    const sign = largest < 0 ? -1 : 1;
    for (let i = 0; i < n; i++)
      vectors[i * n + to] = sign * found.eigenvectorMatrix.get(i, from) + 0;
  }
  return { values, vectors: { rows: n, cols: n, data: vectors } };
}

/**
 * Singular values of any matrix, largest first; min(rows, cols) of them.
 *
 * @throws {DomainError} `not_finite` when an entry is NaN or infinite
 */
export function singularValues(a: Dense): Float64Array {
  if (a.rows === 0 || a.cols === 0) return new Float64Array(0);
  refuseNonFinite(a, 'singularValues');
  const svd = new SingularValueDecomposition(matrixOf(a), {
    autoTranspose: true,
    computeLeftSingularVectors: false,
    computeRightSingularVectors: false,
  });
  return Float64Array.from(svd.diagonal).sort().reverse().slice(0, Math.min(a.rows, a.cols));
}

function refuseNonFinite({ cols, data }: Dense, operation: string): void {
  const at = data.findIndex((value) => !Number.isFinite(value));
  if (at < 0) return;
  throw new DomainError(
    'not_finite',
    `${operation}: every entry must be finite; got ${data[at]} (row ${Math.floor(at / cols)}, column ${at % cols}). Mend the entry first.`,
    { row: Math.floor(at / cols), column: at % cols },
  );
}
