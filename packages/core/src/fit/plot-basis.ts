import { type Dense, zeros } from '../linear/dense.ts';
import {
  applyQInto,
  applyQTransposedInto,
  type QrFactor,
  qrFactor,
  thinQ,
  upperFactor,
} from '../linear/qr.ts';
import { upperInverse } from '../linear/triangular.ts';
import { type Aliased, aliasedOutcome } from './aliased.ts';
import type { PlotNesting } from './plot-nesting.ts';
import { type StrataSums, strataSums } from './strata-sums.ts';

/** The columns of a nested model made orthonormal, with what the likelihood needs of the data. */
export type PlotBasis =
  | (Aliased & { readonly stratumDf: readonly number[] })
  | {
      readonly kind: 'full-rank';
      readonly sums: StrataSums;
      /** Basis coefficients to term coefficients, shape (p, p), upper triangular. */
      readonly back: Dense;
      /** Ordinary (weighted) least-squares coefficients of the terms, shape (p). */
      readonly ordinary: Float64Array;
      /** ½ ln det XᵀWX. */
      readonly logRoot: number;
      /** Σ ln weight. */
      readonly logWeights: number;
      /** Degrees of freedom the model leaves in each stratum and, last, within the innermost plots. */
      readonly stratumDf: readonly number[];
      /** Residual sum of squares within the innermost plots, over the total of squares. */
      readonly withinShare: number;
      /** All residual squares of least squares, over the total of squares. */
      readonly residualShare: number;
    };

/**
 * Weighted columns and response, orthogonalised; and the degrees of freedom of each stratum, as
 * ranks of [X Z₀ Z₁] taken in that order.
 */
export function plotBasis(
  x: Dense,
  y: Float64Array,
  weights: Float64Array | undefined,
  nesting: PlotNesting,
): PlotBasis {
  const { rows: n, cols: p } = x;
  const root = new Float64Array(n).fill(1);
  let logWeights = 0;
  if (weights !== undefined) {
    for (let i = 0; i < n; i++) {
      root[i] = Math.sqrt(weights[i]!);
      logWeights += Math.log(weights[i]!);
    }
  }
  const factor = qrFactor(scaledRows(x, root));
  if (factor.rank < p) return { ...aliasedOutcome(factor), stratumDf: [] };
  const response = y.map((value, i) => value * root[i]!);
  const { effects, residual } = projection(factor, response);
  const basis = rowMajor(thinQ(factor), n, p);
  const upper = upperFactor(factor);
  const back = upperInverse(upper);
  let logRoot = 0;
  for (let j = 0; j < p; j++) {
    const scale = factor.scale[j]!;
    logRoot += Math.log(Math.abs(upper.data[j * p + j]!) * scale);
    for (let k = 0; k < p; k++) back.data[j * p + k]! /= scale;
  }
  const ordinary = new Float64Array(p);
  for (let j = 0; j < p; j++)
    for (let k = j; k < p; k++) ordinary[j]! += back.data[j * p + k]! * effects[k]!;
  const { stratumDf, withinSquares } = ranks(basis, nesting, root, residual);
  const total = response.reduce((sum, value) => sum + value * value, 0);
  return {
    kind: 'full-rank',
    sums: strataSums(basis, residual, root, nesting),
    back,
    ordinary,
    logRoot,
    logWeights,
    stratumDf,
    withinShare: total === 0 ? 0 : withinSquares / total,
    residualShare: total === 0 ? 0 : residual.reduce((sum, r) => sum + r * r, 0) / total,
  };
}

function scaledRows({ rows: n, cols: p, data }: Dense, root: Float64Array): Dense {
  const out = data.slice();
  for (let i = 0; i < n; i++) for (let j = 0; j < p; j++) out[i * p + j]! *= root[i]!;
  return { rows: n, cols: p, data: out };
}

function projection(factor: QrFactor, response: Float64Array) {
  const residual = response.slice();
  applyQTransposedInto(residual, factor);
  const effects = residual.slice(0, factor.rank);
  residual.fill(0, 0, factor.rank);
  applyQInto(residual, factor);
  return { effects, residual };
}

function rowMajor(columns: Float64Array, n: number, p: number): Dense {
  const out = zeros(n, p);
  for (let j = 0; j < p; j++) for (let i = 0; i < n; i++) out.data[i * p + j] = columns[j * n + i]!;
  return out;
}

function ranks(basis: Dense, nesting: PlotNesting, root: Float64Array, residual: Float64Array) {
  const { rows: n, cols: p } = basis;
  const starts: number[] = [p];
  for (const { count } of nesting.groupings) starts.push(starts.at(-1)! + count);
  const wide = zeros(n, starts.at(-1)!);
  for (let i = 0; i < n; i++) {
    wide.data.set(basis.data.subarray(i * p, (i + 1) * p), i * wide.cols);
    for (const [k, { of }] of nesting.groupings.entries())
      wide.data[i * wide.cols + starts[k]! + of[i]!] = root[i]!;
  }
  const factor = qrFactor(wide);
  const stratumDf = nesting.groupings.map(
    (_, k) => factor.kept.filter((j) => j >= starts[k]! && j < starts[k + 1]!).length,
  );
  stratumDf.push(n - factor.rank);
  const within = residual.slice();
  applyQTransposedInto(within, factor);
  let withinSquares = 0;
  for (let i = factor.rank; i < n; i++) withinSquares += within[i]! * within[i]!;
  return { stratumDf, withinSquares };
}

/** One column a distinct label, 1 where the row has it: the model with a mean for each treatment. */
export function indicatorColumns(labels: Int32Array): Dense {
  const column = new Map<number, number>();
  for (const label of labels) if (!column.has(label)) column.set(label, column.size);
  const out = zeros(labels.length, column.size);
  for (const [i, label] of labels.entries()) out.data[i * out.cols + column.get(label)!] = 1;
  return out;
}
