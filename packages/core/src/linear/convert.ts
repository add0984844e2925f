import { Matrix } from 'ml-matrix';
import type { Dense } from './dense.ts';

/** A copy of `dense` as ml-matrix's own kind. Only this folder knows of it. */
export function matrixOf({ rows, cols, data }: Dense): Matrix {
  return Matrix.from1DArray(rows, cols, data);
}

/** A copy of an ml-matrix matrix, row-major. */
export function denseOf(matrix: Matrix): Dense {
  return {
    rows: matrix.rows,
    cols: matrix.columns,
    data: Float64Array.from(matrix.to1DArray()),
  };
}
