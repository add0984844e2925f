import { applyQInto, applyQTransposedInto, type QrFactor } from './qr.ts';

/** 2²⁷ + 1: splits a double into two halves of 26 bits whose products are exact. */
const SPLITTER = 134217729;

/** A least-squares solution on the scaled, kept columns, and how the iteration ended. */
export interface RefinedSolution {
  /** One coefficient per kept column, divided by nothing: of the columns as given; shape (rank). */
  readonly coefficients: Float64Array;
  /** y − X b, shape (n). */
  readonly residuals: Float64Array;
  /** Qᵀ y before refinement, shape (n): squares of its entries are sequential sums of squares. */
  readonly rotated: Float64Array;
  /** Largest relative size of the last correction that was applied. */
  readonly lastCorrection: number;
}

/**
 * Least squares by QR, then refined with residuals in about twice the working precision.
 *
 * The augmented system r + X b = y, Xᵀ r = 0 is corrected as a whole, so both b and r come out
 * near full precision as long as cond(X)·2⁻⁵³ is well below 1.
 *
 * @param y - right-hand side, shape (n)
 * @param factor - QR of X
 * @accuracy digits on the NIST linear-regression sets are tested in tests/reference
 * @source Björck (1967), Iterative refinement of linear least squares solutions I, BIT 7:257–278;
 *   Dekker (1971), A floating-point technique for extending the available precision, Numer. Math. 18
 */
export function refinedSolution(y: Float64Array, factor: QrFactor): RefinedSolution {
  const { rows: n, rank, kept, scale } = factor;
  const rotated = y.slice();
  applyQTransposedInto(rotated, factor);
  const b = rotated.slice(0, rank);
  backSubstituteInto(b, factor);
  const r = rotated.slice();
  r.fill(0, 0, rank);
  applyQInto(r, factor);

  const f = new Float64Array(n);
  const g = new Float64Array(rank);
  let last = Number.POSITIVE_INFINITY;
  for (let pass = 0; pass < 8; pass++) {
    residualInto(f, y, r, b, factor);
    gradientInto(g, r, factor);
    correctionInto(f, g, factor);
    const size = relativeSize(g, b);
    // A correction that does not shrink is rounding noise, not progress.
    if (!(size < last / 2)) break;
    last = size;
    for (let k = 0; k < rank; k++) b[k]! += g[k]!;
    for (let i = 0; i < n; i++) r[i]! += f[i]!;
    if (size < 1e-15) break;
  }
  for (let k = 0; k < rank; k++) b[k]! /= scale[kept[k]!]!;
  return { coefficients: b, residuals: r, rotated, lastCorrection: last };
}

/** (f, g) ← (dr, db) of r + X b = f, Xᵀ r = g: the step of the augmented system. */
export function correctionInto(f: Float64Array, g: Float64Array, factor: QrFactor): void {
  const { rank } = factor;
  forwardSubstituteInto(g, factor); // h = R⁻ᵀ g
  applyQTransposedInto(f, factor);
  for (let k = 0; k < rank; k++) {
    const h = g[k]!;
    g[k] = f[k]! - h;
    f[k] = h;
  }
  backSubstituteInto(g, factor);
  applyQInto(f, factor);
}

function relativeSize(step: Float64Array, whole: Float64Array): number {
  let top = 0;
  let bottom = 0;
  for (let k = 0; k < step.length; k++) {
    top = Math.max(top, Math.abs(step[k]!));
    bottom = Math.max(bottom, Math.abs(whole[k]!));
  }
  return bottom === 0 ? (top === 0 ? 0 : 1) : top / bottom;
}

/** g ← R⁻¹ g on the scaled columns. */
function backSubstituteInto(g: Float64Array, { rows: n, rank, kept, packed }: QrFactor): void {
  for (let k = rank - 1; k >= 0; k--) {
    const at = kept[k]! * n;
    const value = g[k]! / packed[at + k]!;
    g[k] = value;
    for (let i = 0; i < k; i++) g[i]! -= packed[at + i]! * value;
  }
}

/** g ← R⁻ᵀ g on the scaled columns. */
function forwardSubstituteInto(g: Float64Array, { rows: n, rank, kept, packed }: QrFactor): void {
  for (let k = 0; k < rank; k++) {
    const at = kept[k]! * n;
    let sum = g[k]!;
    for (let i = 0; i < k; i++) sum -= packed[at + i]! * g[i]!;
    g[k] = sum / packed[at + k]!;
  }
}

/** f ← y − r − X b, each entry summed with the error of every product and sum carried along. */
function residualInto(
  f: Float64Array,
  y: Float64Array,
  r: Float64Array,
  b: Float64Array,
  { rows: n, rank, kept, scaled }: QrFactor,
): void {
  const low = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const sum = y[i]! - r[i]!;
    const part = sum - y[i]!;
    low[i] = y[i]! - (sum - part) + (-r[i]! - part);
    f[i] = sum;
  }
  for (let k = 0; k < rank; k++) {
    const x = -b[k]!;
    const xSplit = SPLITTER * x;
    const xHigh = xSplit - (xSplit - x);
    const xLow = x - xHigh;
    const at = kept[k]! * n;
    for (let i = 0; i < n; i++) {
      const a = scaled[at + i]!;
      const aSplit = SPLITTER * a;
      const aHigh = aSplit - (aSplit - a);
      const aLow = a - aHigh;
      const product = a * x;
      const productError = aHigh * xHigh - product + aHigh * xLow + aLow * xHigh + aLow * xLow;
      const high = f[i]!;
      const sum = high + product;
      const part = sum - high;
      low[i]! += high - (sum - part) + (product - part) + productError;
      f[i] = sum;
    }
  }
  for (let i = 0; i < n; i++) f[i]! += low[i]!;
}

/** g ← −Xᵀ r, summed as in `residualInto`. */
function gradientInto(
  g: Float64Array,
  r: Float64Array,
  { rows: n, rank, kept, scaled }: QrFactor,
): void {
  for (let k = 0; k < rank; k++) {
    const at = kept[k]! * n;
    let high = 0;
    let low = 0;
    for (let i = 0; i < n; i++) {
      const a = scaled[at + i]!;
      const x = -r[i]!;
      const aSplit = SPLITTER * a;
      const aHigh = aSplit - (aSplit - a);
      const aLow = a - aHigh;
      const xSplit = SPLITTER * x;
      const xHigh = xSplit - (xSplit - x);
      const xLow = x - xHigh;
      const product = a * x;
      const productError = aHigh * xHigh - product + aHigh * xLow + aLow * xHigh + aLow * xLow;
      const sum = high + product;
      const part = sum - high;
      low += high - (sum - part) + (product - part) + productError;
      high = sum;
    }
    g[k] = high + low;
  }
}
