import type { CompiledProblem } from './compiled-problem.ts';
import { factorSpdInto, inverseFromCholeskyInto } from './spd.ts';
import { termRowInto } from './term-table.ts';

/**
 * What the exchange carries from move to move. With P columns (model terms, then block contrasts):
 * `x` (n, P) model rows, `c` (P, P) = M⁻¹, and for A and I `b` (P, P) = M⁻¹WM⁻¹, so that a move's
 * effect on tr(M⁻¹W) needs no W. `z` holds √V⁻¹-weighted rows of the unit at hand, `zc` = z·c and
 * `zb` = z·b.
 */
export interface ExchangeState {
  readonly compiled: CompiledProblem;
  readonly points: Float64Array;
  readonly x: Float64Array;
  readonly c: Float64Array;
  readonly b: Float64Array | null;
  readonly scratch: Float64Array;
  readonly z: Float64Array;
  readonly zc: Float64Array;
  readonly zb: Float64Array;
  /** ln det M for D, tr(M⁻¹W) for A and I; −Infinity or +Infinity when M is singular. */
  value: number;
}

/** A state with room for the design but no settings yet. */
export function emptyState(compiled: CompiledProblem): ExchangeState {
  const { columns: p, layout, region } = compiled;
  const largest = Math.max(1, ...layout.units.map((unit) => unit.rows.length));
  return {
    compiled,
    points: new Float64Array(layout.n * region.factors.length),
    x: new Float64Array(layout.n * p),
    c: new Float64Array(p * p),
    b: compiled.weights ? new Float64Array(p * p) : null,
    scratch: new Float64Array(p * p),
    z: new Float64Array(largest * p),
    zc: new Float64Array(largest * p),
    zb: new Float64Array(largest * p),
    value: Number.NaN,
  };
}

/** Model row and block contrasts of run `i` from its point. */
export function fillRowInto(state: ExchangeState, i: number): void {
  const { table, columns, layout } = state.compiled;
  const at = i * columns;
  termRowInto(state.x, table, { points: state.points, offset: i * table.k, at });
  const { cols, data } = layout.blocks;
  state.x.set(data.subarray(i * cols, (i + 1) * cols), at + table.p);
}

/** M = XᵀV⁻¹X plus prior precision plus `ridge` on the diagonal, into `out` (P, P). */
export function informationInto(out: Float64Array, state: ExchangeState, ridge: number): void {
  const { compiled, x } = state;
  const { columns: p, layout, prior } = compiled;
  out.fill(0);
  for (const { rows, inverse } of layout.plots) {
    const m = rows.length;
    for (let a = 0; a < m; a++) {
      const rowA = rows[a]! * p;
      for (let b = 0; b < m; b++) {
        const weight = inverse[a * m + b]!;
        const rowB = rows[b]! * p;
        for (let i = 0; i < p; i++) {
          const scaled = weight * x[rowA + i]!;
          if (scaled === 0) continue;
          for (let j = 0; j <= i; j++) out[i * p + j]! += scaled * x[rowB + j]!;
        }
      }
    }
  }
  for (let i = 0; i < p; i++) out[i * p + i]! += prior[i]! + ridge;
}

/**
 * Work out M⁻¹ (and M⁻¹WM⁻¹) afresh, so rounding of the updates does not build up.
 * @returns false when M is singular to working precision
 */
export function refactor(state: ExchangeState, ridge = 0): boolean {
  const { compiled, c, b, scratch } = state;
  const { columns: p, weights, criterion } = compiled;
  informationInto(scratch, state, ridge);
  const logDet = factorSpdInto(scratch, p);
  if (logDet === Number.NEGATIVE_INFINITY) {
    state.value = criterion === 'D' ? logDet : Number.POSITIVE_INFINITY;
    return false;
  }
  inverseFromCholeskyInto(c, scratch, p);
  if (!weights || !b) {
    state.value = logDet;
    return true;
  }
  sandwichInto(b, scratch, { c, weights, p });
  let trace = 0;
  for (let i = 0; i < p * p; i++) trace += c[i]! * weights[i]!;
  state.value = trace;
  return true;
}

/** out = c·w·c with c and w symmetric; `work` is overwritten. */
function sandwichInto(
  out: Float64Array,
  work: Float64Array,
  { c, weights, p }: { c: Float64Array; weights: Float64Array; p: number },
): void {
  multiplyInto(work, c, weights, p);
  multiplyInto(out, work, c, p);
}

function multiplyInto(out: Float64Array, a: Float64Array, b: Float64Array, p: number): void {
  out.fill(0);
  for (let i = 0; i < p; i++) {
    for (let k = 0; k < p; k++) {
      const scale = a[i * p + k]!;
      if (scale === 0) continue;
      for (let j = 0; j < p; j++) out[i * p + j]! += scale * b[k * p + j]!;
    }
  }
}

/** Weighted rows of a unit (z) and their products with c and b, ready for its moves. */
export function loadUnit(
  state: ExchangeState,
  unit: CompiledProblem['layout']['units'][number],
): void {
  const { x, z, c, b, zc, zb, compiled } = state;
  const p = compiled.columns;
  const { rows, root, rest, pull } = unit;
  const r = rows.length;
  z.fill(0, 0, r * p);
  for (let a = 0; a < r; a++) {
    for (let q = a; q < r; q++) {
      const weight = root[a * r + q]!;
      if (weight === 0) continue;
      for (let t = 0; t < p; t++) z[a * p + t]! += weight * x[rows[q]! * p + t]!;
      for (let s = 0; s < rest.length; s++) {
        const scaled = weight * pull[q * rest.length + s]!;
        if (scaled === 0) continue;
        for (let t = 0; t < p; t++) z[a * p + t]! += scaled * x[rest[s]! * p + t]!;
      }
    }
  }
  rowsTimesInto(zc, z, { matrix: c, r, p });
  if (b) rowsTimesInto(zb, z, { matrix: b, r, p });
}

/** out (r, p) = rows (r, p) times a symmetric matrix (p, p). */
export function rowsTimesInto(
  out: Float64Array,
  rows: Float64Array,
  { matrix, r, p }: { readonly matrix: Float64Array; readonly r: number; readonly p: number },
): void {
  for (let a = 0; a < r; a++) {
    const at = a * p;
    for (let t = 0; t < p; t++) {
      const line = t * p;
      let sum = 0;
      for (let s = 0; s < p; s++) sum += rows[at + s]! * matrix[line + s]!;
      out[at + t] = sum;
    }
  }
}
