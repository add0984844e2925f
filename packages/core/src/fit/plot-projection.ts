import { choleskyInto, choleskyInverse, forwardSolveInto } from '../linear/cholesky.ts';
import { columnOf, type Dense } from '../linear/dense.ts';
import type { PlotNesting } from './plot-nesting.ts';

/**
 * The residual projection of a nested model at given variance ratios,
 * P = V⁻¹ − V⁻¹X(XᵀV⁻¹X)⁻¹XᵀV⁻¹. With one stratum and no weights it is I − H.
 */
export interface PlotProjection {
  readonly rows: number;
  /** P, shape (n, n). */
  readonly projection: Float64Array;
  /** Diagonal of V⁻¹, shape (n). */
  readonly precision: Float64Array;
}

/** What the projection is made of. */
export interface ProjectionInput {
  /** Full-rank model matrix, shape (n, p). */
  readonly x: Dense;
  readonly weights?: Float64Array | undefined;
  readonly nesting: PlotNesting | null;
  /** Outermost first; none without plots. */
  readonly ratios: ArrayLike<number>;
}

/** Builds V = W⁻¹ + Σ r ZZᵀ whole and inverts it: for tables of runs, not for loops. */
export function plotProjection({ x, weights, nesting, ratios }: ProjectionInput): PlotProjection {
  const { rows: n, cols: p, data } = x;
  const inverse = inverseCovariance(n, weights, nesting, ratios);
  const half = product(inverse, data, { rows: n, inner: n, cols: p });
  const cross = new Float64Array(p * p);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < p; j++)
      for (let k = 0; k < p; k++) cross[j * p + k]! += data[i * p + j]! * half[i * p + k]!;
  choleskyInto(cross, p);
  const phi = choleskyInverse(cross, p);
  const left = product(half, phi, { rows: n, inner: p, cols: p });
  const precision = new Float64Array(n);
  const projection = inverse;
  for (let i = 0; i < n; i++) {
    precision[i] = inverse[i * n + i]!;
    for (let k = 0; k < n; k++) {
      let sum = 0;
      for (let j = 0; j < p; j++) sum += left[i * p + j]! * half[k * p + j]!;
      projection[i * n + k]! -= sum;
    }
  }
  return { rows: n, projection, precision };
}

/** Lower factor of V, its upper triangle not cleared. */
function covarianceFactor(
  n: number,
  weights: Float64Array | undefined,
  nesting: PlotNesting | null,
  ratios: ArrayLike<number>,
): Float64Array {
  const v = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    v[i * n + i] = 1 / (weights?.[i] ?? 1);
    for (const [k, { of }] of (nesting?.groupings ?? []).entries())
      for (let j = 0; j < n; j++) if (of[i] === of[j]) v[i * n + j]! += ratios[k]!;
  }
  choleskyInto(v, n);
  return v;
}

function inverseCovariance(
  n: number,
  weights: Float64Array | undefined,
  nesting: PlotNesting | null,
  ratios: ArrayLike<number>,
): Float64Array {
  return choleskyInverse(covarianceFactor(n, weights, nesting, ratios), n);
}

/**
 * Columns and response freed of the plots: L⁻¹X and L⁻¹y with V = LLᵀ, so that ordinary least squares
 * on them is generalised least squares at the given ratios.
 */
export function freedOfPlots(
  input: ProjectionInput,
  y: Float64Array,
): { readonly x: Dense; readonly y: Float64Array } {
  const { x, weights, nesting, ratios } = input;
  const { rows: n, cols: p } = x;
  const lower = covarianceFactor(n, weights, nesting, ratios);
  const data = new Float64Array(n * p);
  for (let j = 0; j < p; j++) {
    const column = columnOf(x, j).slice();
    forwardSolveInto(column, lower, n);
    for (let i = 0; i < n; i++) data[i * p + j] = column[i]!;
  }
  const freed = y.slice();
  forwardSolveInto(freed, lower, n);
  return { x: { rows: n, cols: p, data }, y: freed };
}

function product(
  a: Float64Array,
  b: Float64Array,
  { rows, inner, cols }: { readonly rows: number; readonly inner: number; readonly cols: number },
): Float64Array {
  const out = new Float64Array(rows * cols);
  for (let i = 0; i < rows; i++)
    for (let k = 0; k < inner; k++) {
      const value = a[i * inner + k]!;
      if (value === 0) continue;
      for (let j = 0; j < cols; j++) out[i * cols + j]! += value * b[k * cols + j]!;
    }
  return out;
}

/** P times a response, shape (n). */
export function projected({ rows: n, projection }: PlotProjection, y: Float64Array): Float64Array {
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) for (let k = 0; k < n; k++) out[i]! += projection[i * n + k]! * y[k]!;
  return out;
}

/**
 * Errors of predicting each group from all others: y_g − X_g b₍₋g₎ = P_gg⁻¹(Py)_g when groups are
 * independent of each other.
 *
 * @param groups - group of each run, 0 to count − 1, shape (n)
 * @returns shape (n); null when some group alone carries a term
 */
export function deletedErrors(
  given: PlotProjection,
  y: Float64Array,
  groups: Int32Array,
  count: number,
): Float64Array | null {
  const { rows: n, projection, precision } = given;
  const pull = projected(given, y);
  const out = new Float64Array(n);
  for (let g = 0; g < count; g++) {
    const members = [...groups.keys()].filter((i) => groups[i] === g);
    const m = members.length;
    const block = new Float64Array(m * m);
    for (const [a, i] of members.entries())
      for (const [b, k] of members.entries()) block[a * m + b] = projection[i * n + k]!;
    const isOpen = members.every((i, a) => block[a * m + a]! > 1e-9 * precision[i]!);
    if (!isOpen || choleskyInto(block, m) >= 0) return null;
    const inverse = choleskyInverse(block, m);
    for (const [a, i] of members.entries())
      for (const [b, k] of members.entries()) out[i]! += inverse[a * m + b]! * pull[k]!;
  }
  return out;
}
