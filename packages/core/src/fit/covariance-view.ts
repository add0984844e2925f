import type { PlotWhitening } from './plot-whitening.ts';
import type { StrataSums } from './strata-sums.ts';

/** One stratum at given ratios: what V⁻¹ and P = V⁻¹ − V⁻¹QΦQᵀV⁻¹ look like from its plots. */
export interface PlotView {
  readonly count: number;
  /** U = ZᵀV⁻¹Q, shape (count, p). */
  readonly cross: Float64Array;
  /** A = UᵀU = QᵀV⁻¹ZZᵀV⁻¹Q, shape (p, p). */
  readonly spread: Float64Array;
  /** w = ZᵀPe, shape (count). */
  readonly pull: Float64Array;
  /** ZᵀV⁻¹Z, diagonal, shape (count). */
  readonly weight: Float64Array;
}

/** Everything the derivatives and adjustments of a nested model are made of. */
export interface CovarianceView {
  /** Φ = (QᵀV⁻¹Q)⁻¹, shape (p, p). */
  readonly phi: Float64Array;
  readonly plots: readonly PlotView[];
  /** projected[k][l] = Z_kᵀ P Z_l, shape (count k, count l). */
  readonly projected: readonly (readonly Float64Array[])[];
}

/** Views of the covariance from each stratum's plots; see `PlotWhitening` for the symbols. */
export function covarianceView(
  data: StrataSums,
  ratios: Float64Array,
  white: PlotWhitening,
  phi: Float64Array,
  coefficients: Float64Array,
): CovarianceView {
  const plots = [outerView(data, white, coefficients)];
  if (data.strata === 2) plots.push(innerView(data, ratios[0]!, white, coefficients));
  const p = data.cols;
  const half = plots.map((plot) => times(plot.cross, plot.count, phi, p));
  const projected = plots.map((rowPlot, k) =>
    plots.map((colPlot, l) => {
      const block = weightBlock(data, ratios, white, k, l);
      subtractProducts(block, half[k]!, colPlot.cross, rowPlot.count, colPlot.count, p);
      return block;
    }),
  );
  return { phi, plots, projected };
}

function outerView(data: StrataSums, white: PlotWhitening, b: Float64Array): PlotView {
  const { cols: p, outerCount } = data;
  const { outerShrink, outerSums, outerSize } = white;
  const cross = new Float64Array(outerCount * p);
  const pull = new Float64Array(outerCount);
  const weight = new Float64Array(outerCount);
  for (let g = 0; g < outerCount; g++) {
    const e = outerShrink[g]!;
    const from = g * (p + 1);
    let w = e * outerSums[from + p]!;
    for (let j = 0; j < p; j++) {
      const u = e * outerSums[from + j]!;
      cross[g * p + j] = u;
      w -= u * b[j]!;
    }
    pull[g] = w;
    weight[g] = e * outerSize[g]!;
  }
  return { count: outerCount, cross, spread: gram(cross, outerCount, p), pull, weight };
}

function innerView(
  data: StrataSums,
  outerRatio: number,
  white: PlotWhitening,
  b: Float64Array,
): PlotView {
  const { cols: p, innerCount, parent, size, sums } = data;
  const { innerShrink, outerShrink, outerSums } = white;
  const cross = new Float64Array(innerCount * p);
  const pull = new Float64Array(innerCount);
  const weight = new Float64Array(innerCount);
  for (let h = 0; h < innerCount; h++) {
    const g = parent[h]!;
    const f = innerShrink[h]!;
    const own = f * size[h]!;
    const shared = outerRatio * outerShrink[g]! * own;
    const from = h * (p + 1);
    const up = g * (p + 1);
    let w = f * sums[from + p]! - shared * outerSums[up + p]!;
    for (let j = 0; j < p; j++) {
      const u = f * sums[from + j]! - shared * outerSums[up + j]!;
      cross[h * p + j] = u;
      w -= u * b[j]!;
    }
    pull[h] = w;
    weight[h] = own - shared * own;
  }
  return { count: innerCount, cross, spread: gram(cross, innerCount, p), pull, weight };
}

/** Z_kᵀ V⁻¹ Z_l: sparse, but returned full as it is about to be filled. */
function weightBlock(
  { innerCount, outerCount, parent, size }: StrataSums,
  ratios: Float64Array,
  { innerShrink, outerShrink, outerSize }: PlotWhitening,
  k: number,
  l: number,
): Float64Array {
  if (k === 0 && l === 0) {
    const block = new Float64Array(outerCount * outerCount);
    for (let g = 0; g < outerCount; g++)
      block[g * outerCount + g] = outerShrink[g]! * outerSize[g]!;
    return block;
  }
  if (k !== l) {
    const block = new Float64Array(outerCount * innerCount);
    for (let h = 0; h < innerCount; h++) {
      const g = parent[h]!;
      const value = outerShrink[g]! * innerShrink[h]! * size[h]!;
      block[k === 0 ? g * innerCount + h : h * outerCount + g] = value;
    }
    return block;
  }
  const block = new Float64Array(innerCount * innerCount);
  for (let h = 0; h < innerCount; h++) {
    const own = innerShrink[h]! * size[h]!;
    const g = parent[h]!;
    const shared = ratios[0]! * outerShrink[g]! * own;
    for (let i = 0; i < innerCount; i++) {
      if (parent[i] === g) block[h * innerCount + i] = -shared * innerShrink[i]! * size[i]!;
    }
    block[h * innerCount + h]! += own;
  }
  return block;
}

/** A·B with A shape (rows, p) and B shape (p, p). */
export function times(a: Float64Array, rows: number, b: Float64Array, p: number): Float64Array {
  const out = new Float64Array(rows * p);
  for (let i = 0; i < rows; i++) {
    for (let k = 0; k < p; k++) {
      const aik = a[i * p + k]!;
      if (aik === 0) continue;
      for (let j = 0; j < p; j++) out[i * p + j]! += aik * b[k * p + j]!;
    }
  }
  return out;
}

/** AᵀA, shape (p, p), of A shape (rows, p). */
function gram(a: Float64Array, rows: number, p: number): Float64Array {
  const out = new Float64Array(p * p);
  for (let i = 0; i < rows; i++) {
    for (let j = 0; j < p; j++) {
      const aij = a[i * p + j]!;
      for (let k = 0; k < p; k++) out[j * p + k]! += aij * a[i * p + k]!;
    }
  }
  return out;
}

/** target ← target − A·Bᵀ with A shape (rows, p), B shape (cols, p). */
function subtractProducts(
  target: Float64Array,
  a: Float64Array,
  b: Float64Array,
  rows: number,
  cols: number,
  p: number,
): void {
  for (let i = 0; i < rows; i++) {
    for (let j = 0; j < cols; j++) {
      let s = 0;
      for (let k = 0; k < p; k++) s += a[i * p + k]! * b[j * p + k]!;
      target[i * cols + j]! -= s;
    }
  }
}
