import type { Dense } from '../linear/dense.ts';
import type { PlotNesting } from './plot-nesting.ts';

/**
 * All that the likelihood of a nested model needs of the data: sums over plots of an orthonormal
 * basis of the model's columns and of the least-squares residual.
 *
 * With V = I + r₀ Z₀Z₀ᵀ + r₁ Z₁Z₁ᵀ block diagonal, every product with V⁻¹ is a low-rank correction
 * (Woodbury) whose parts are the plot sums Zᵀ[Q e]; so a trial ratio costs plots·p², whatever n is.
 * Taking residuals e instead of y keeps a large mean from eating digits.
 */
export interface StrataSums {
  readonly rows: number;
  /** p, columns of the basis. */
  readonly cols: number;
  /** Number of strata with a ratio of their own: 1 or 2. */
  readonly strata: number;
  /** Orthonormal basis of the weighted columns, shape (n, p). */
  readonly basis: Dense;
  /** eᵀe, the least-squares residual sum of squares. */
  readonly residualSquares: number;
  readonly outerCount: number;
  readonly innerCount: number;
  /** Outermost plot of each innermost plot. */
  readonly parent: Int32Array;
  /** Sum of weights of each innermost plot. */
  readonly size: Float64Array;
  /** Zᵀ[Q e] of each innermost plot, shape (inner, p + 1). */
  readonly sums: Float64Array;
}

/**
 * @param basis - orthonormal basis of the columns, rows multiplied by √weight, shape (n, p)
 * @param residual - weighted least-squares residual, shape (n)
 * @param root - √weight, shape (n)
 */
export function strataSums(
  basis: Dense,
  residual: Float64Array,
  root: Float64Array,
  nesting: PlotNesting,
): StrataSums {
  const { rows: n, cols: p, data: q } = basis;
  const inner = nesting.groupings.at(-1)!;
  const width = p + 1;
  const sums = new Float64Array(inner.count * width);
  const size = new Float64Array(inner.count);
  let residualSquares = 0;
  for (let i = 0; i < n; i++) {
    const z = root[i]!;
    const h = inner.of[i]!;
    size[h]! += z * z;
    for (let j = 0; j < p; j++) sums[h * width + j]! += z * q[i * p + j]!;
    sums[h * width + p]! += z * residual[i]!;
    residualSquares += residual[i]! * residual[i]!;
  }
  return {
    rows: n,
    cols: p,
    strata: nesting.groupings.length,
    basis,
    residualSquares,
    outerCount: nesting.groupings[0]!.count,
    innerCount: inner.count,
    parent: nesting.parent,
    size,
    sums,
  };
}
