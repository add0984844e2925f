import { DomainError } from '../error/domain-error.ts';
import type { Dense } from './dense.ts';

/**
 * Householder QR of a scaled matrix with its rank measured on the way.
 *
 * Columns are taken in the order given, so Qᵀy splits a sum of squares term by term. A column whose
 * part outside the span of the earlier kept ones is no longer than `tolerance` times itself is
 * aliased: it gets no reflector and its expression by the kept ones is at hand (`aliasWeights`).
 * Each column is divided by the power of two next to its length, which is exact; so the factor is
 * that of the very columns given.
 */
export interface QrFactor {
  readonly rows: number;
  readonly cols: number;
  readonly rank: number;
  /** Columns with a reflector, in the order given; shape (rank). */
  readonly kept: Int32Array;
  /** Columns within the span of the kept ones; shape (cols − rank). */
  readonly aliased: Int32Array;
  /** Power of two that column j was divided by; 1 for a column of zeros; shape (cols). */
  readonly scale: Float64Array;
  /** The columns divided by `scale`, column-major; shape (cols · rows). */
  readonly scaled: Float64Array;
  /** Column-major; R on and above the diagonal, reflectors (leading 1 left out) below it. */
  readonly packed: Float64Array;
  /** Reflector weights, H = I − tau·v·vᵀ; shape (rank). */
  readonly tau: Float64Array;
}

const SHORTEST_COLUMN = 1e-140;

/** On coded columns: what rounding leaves of exact aliasing is near 1e-15, real columns near 1. */
export const RELATIVE_RANK_TOLERANCE = 1e-10;

/**
 * Factor X = Q R of record: Householder, column scaling, measured rank.
 *
 * @param x - shape (n, p); n may be less than p
 * @param tolerance - share of a column's length below which its new part counts as rounding
 * @throws {DomainError} `not_finite` when an entry is NaN or infinite
 * @source Golub & Van Loan (2013), Matrix Computations, 4th ed., §5.1–5.2; the order-keeping
 *   treatment of aliased columns is that of common regression practice
 */
export function qrFactor(x: Dense, tolerance = RELATIVE_RANK_TOLERANCE): QrFactor {
  const { rows: n, cols: p } = x;
  const scale = new Float64Array(p);
  const scaled = scaledColumns(x, scale);
  const packed = scaled.slice();
  const tau = new Float64Array(Math.min(n, p));
  const kept: number[] = [];
  const aliased: number[] = [];
  for (let j = 0; j < p; j++) {
    const at = j * n;
    const full = norm(packed, at, at + n);
    for (let k = 0; k < kept.length; k++) reflect(packed, kept[k]! * n, k, tau[k]!, packed, at, n);
    const k = kept.length;
    const left = k < n ? norm(packed, at + k, at + n) : 0;
    if (left <= tolerance * full) {
      aliased.push(j);
      continue;
    }
    const lead = packed[at + k]!;
    const diagonal = lead > 0 ? -left : left;
    tau[k] = (diagonal - lead) / diagonal;
    const under = 1 / (lead - diagonal);
    for (let i = at + k + 1; i < at + n; i++) packed[i]! *= under;
    packed[at + k] = diagonal;
    kept.push(j);
  }
  const rank = kept.length;
  return {
    rows: n,
    cols: p,
    rank,
    kept: Int32Array.from(kept),
    aliased: Int32Array.from(aliased),
    scale,
    scaled,
    packed,
    tau: tau.subarray(0, rank),
  };
}

/** Column-major copy of x, each column divided by the power of two at or below its length. */
function scaledColumns({ rows: n, cols: p, data }: Dense, scale: Float64Array): Float64Array {
  const out = new Float64Array(n * p);
  for (let j = 0; j < p; j++) {
    let largest = 0;
    let sum = 0;
    for (let i = 0; i < n; i++) {
      const value = data[i * p + j]!;
      out[j * n + i] = value;
      sum += value * value;
      const size = Math.abs(value);
      if (size > largest) largest = size;
    }
    if (!Number.isFinite(sum)) {
      const row = findNonFinite(out, j * n, n);
      if (row >= 0) {
        throw new DomainError(
          'not_finite',
          `qrFactor: every entry must be finite; got ${out[j * n + row]} (row ${row}, column ${j}). Mend or leave out the row.`,
          { row, column: j },
        );
      }
    }
    const length = Number.isFinite(sum) && sum > 1e-290 ? Math.sqrt(sum) : largest;
    // Below this a column counts as zero: the variance of its coefficient would overflow.
    if (length < SHORTEST_COLUMN) {
      out.fill(0, j * n, (j + 1) * n);
      scale[j] = 1;
      continue;
    }
    const factor = 2 ** Math.floor(Math.log2(length));
    scale[j] = factor;
    if (factor !== 1) for (let i = j * n; i < (j + 1) * n; i++) out[i]! /= factor;
  }
  return out;
}

function findNonFinite(values: Float64Array, from: number, count: number): number {
  for (let i = 0; i < count; i++) if (!Number.isFinite(values[from + i]!)) return i;
  return -1;
}

function norm(values: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += values[i]! * values[i]!;
  return Math.sqrt(sum);
}

/** target ← H target, where H's vector is 1 at position k and stands in `source` below it. */
function reflect(
  source: Float64Array,
  from: number,
  k: number,
  tau: number,
  target: Float64Array,
  to: number,
  n: number,
): void {
  let sum = target[to + k]!;
  for (let i = k + 1; i < n; i++) sum += source[from + i]! * target[to + i]!;
  sum *= tau;
  target[to + k]! -= sum;
  for (let i = k + 1; i < n; i++) target[to + i]! -= sum * source[from + i]!;
}

/** v ← Qᵀ v in place; v has shape (n), or stands at `offset` of a longer array. */
export function applyQTransposedInto(v: Float64Array, factor: QrFactor, offset = 0): void {
  const { rows: n, rank, kept, packed, tau } = factor;
  for (let k = 0; k < rank; k++) reflect(packed, kept[k]! * n, k, tau[k]!, v, offset, n);
}

/** v ← Q v in place; v has shape (n), or stands at `offset` of a longer array. */
export function applyQInto(v: Float64Array, factor: QrFactor, offset = 0): void {
  const { rows: n, rank, kept, packed, tau } = factor;
  for (let k = rank - 1; k >= 0; k--) reflect(packed, kept[k]! * n, k, tau[k]!, v, offset, n);
}

/** R of the kept, scaled columns: upper triangular, shape (rank, rank), row-major. */
export function upperFactor({ rows: n, rank, kept, packed }: QrFactor): Dense {
  const data = new Float64Array(rank * rank);
  for (let j = 0; j < rank; j++)
    for (let i = 0; i <= j; i++) data[i * rank + j] = packed[kept[j]! * n + i]!;
  return { rows: rank, cols: rank, data };
}

/** Orthonormal basis of the column space: the first `rank` columns of Q, column-major (rank · n). */
export function thinQ(factor: QrFactor): Float64Array {
  const { rows: n, rank, kept, packed, tau } = factor;
  const q = new Float64Array(rank * n);
  for (let j = 0; j < rank; j++) {
    q[j * n + j] = 1;
    for (let k = j; k >= 0; k--) reflect(packed, kept[k]! * n, k, tau[k]!, q, j * n, n);
  }
  return q;
}

/**
 * How each aliased column is made of kept ones: x[aliased a] = Σ weight[a, k] · x[kept k].
 *
 * @returns shape (cols − rank, rank); in the units of the columns given; rounding dust is set to 0
 */
export function aliasWeights(factor: QrFactor): Dense {
  const { rows: n, rank, kept, aliased, packed, scale } = factor;
  const data = new Float64Array(aliased.length * rank);
  for (const [a, j] of aliased.entries()) {
    const at = a * rank;
    for (let i = rank - 1; i >= 0; i--) {
      let sum = packed[j * n + i]!;
      for (let k = i + 1; k < rank; k++) sum -= packed[kept[k]! * n + i]! * data[at + k]!;
      data[at + i] = sum / packed[kept[i]! * n + i]!;
    }
    for (let i = 0; i < rank; i++) {
      const weight = data[at + i]!;
      data[at + i] = Math.abs(weight) < 1e-6 ? 0 : (weight * scale[j]!) / scale[kept[i]!]!;
    }
  }
  return { rows: aliased.length, cols: rank, data };
}
