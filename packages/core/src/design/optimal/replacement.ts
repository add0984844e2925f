import {
  type ExchangeState,
  fillRowInto,
  loadUnit,
  refactor,
  rowsTimesInto,
} from './exchange-state.ts';
import type { Unit } from './layout.ts';
import { inverseFromLuInto, luInto } from './spd.ts';

/** Storage for replacing a unit's rows, one per search. */
export interface ReplacementWorkspace {
  readonly before: Float64Array;
  readonly d: Float64Array;
  readonly dc: Float64Array;
  readonly db: Float64Array;
  readonly square: Float64Array;
  readonly squareB: Float64Array;
  readonly inverse: Float64Array;
  readonly order: Int32Array;
  readonly e: Float64Array;
  readonly g: Float64Array;
  readonly points: Float64Array;
}

/** Room for units of up to `r` rows, `p` columns and `k` factors. */
export function replacementWorkspace(r: number, p: number, k: number): ReplacementWorkspace {
  const m = 2 * r;
  return {
    before: new Float64Array(r * p),
    d: new Float64Array(r * p),
    dc: new Float64Array(r * p),
    db: new Float64Array(r * p),
    square: new Float64Array(m * m),
    squareB: new Float64Array(m * m),
    inverse: new Float64Array(m * m),
    order: new Int32Array(m),
    e: new Float64Array(m * p),
    g: new Float64Array(m * p),
    points: new Float64Array(r * k),
  };
}

const STEEP = 1e4; // a determinant ratio beyond which updating loses digits: factor afresh

/**
 * The worth of the settings that already stand in `state.points` for the unit's rows, against the
 * rows that `state.x` still holds: det ratio for D, change of the trace for A and I. Fills `work`
 * for `commit`; `state.x` is not changed.
 */
export function replacementWorth(
  state: ExchangeState,
  work: ReplacementWorkspace,
  unit: Unit,
): number {
  const { compiled, x, z, zc, zb, c, b } = state;
  const p = compiled.columns;
  const { rows, root } = unit;
  const r = rows.length;
  const m = 2 * r;
  for (let a = 0; a < r; a++) {
    const at = rows[a]! * p;
    work.before.set(x.subarray(at, at + p), a * p);
    fillRowInto(state, rows[a]!);
  }
  work.d.fill(0, 0, r * p);
  for (let q = 0; q < r; q++) {
    const at = rows[q]! * p;
    for (let a = 0; a <= q; a++) {
      const weight = root[a * r + q]!;
      if (weight === 0) continue;
      for (let t = 0; t < p; t++) {
        work.d[a * p + t]! += weight * (x[at + t]! - work.before[q * p + t]!);
      }
    }
    x.set(work.before.subarray(q * p, (q + 1) * p), at);
  }
  rowsTimesInto(work.dc, work.d, { matrix: c, r, p });
  gramBlocksInto(work.square, { r, p, z, d: work.d, zm: zc, dm: work.dc, shift: 1 });
  const det = luInto(work.square, work.order, m);
  const ratio = r % 2 === 0 ? det : -det;
  if (ratio > 1e-12) inverseFromLuInto(work.inverse, work.square, { order: work.order, m });
  if (!b) return ratio;
  if (!(ratio > 1e-9)) return Number.POSITIVE_INFINITY;
  rowsTimesInto(work.db, work.d, { matrix: b, r, p });
  gramBlocksInto(work.squareB, { r, p, z, d: work.d, zm: zb, dm: work.db, shift: 0 });
  let trace = 0;
  for (let i = 0; i < m; i++) {
    for (let k = 0; k < m; k++) trace += work.inverse[i * m + k]! * work.squareB[k * m + i]!;
  }
  return -trace;
}

/** [[ZGZᵀ − shift·I, shift·I + ZGDᵀ], [·ᵀ, DGDᵀ]] from the products zm = ZG and dm = DG. */
function gramBlocksInto(
  out: Float64Array,
  from: {
    r: number;
    p: number;
    z: Float64Array;
    d: Float64Array;
    zm: Float64Array;
    dm: Float64Array;
    shift: number;
  },
): void {
  const { r, p, z, d, zm, dm, shift } = from;
  const m = 2 * r;
  for (let a = 0; a < r; a++) {
    for (let q = 0; q < r; q++) {
      let base = 0;
      let cross = 0;
      let bent = 0;
      for (let t = 0; t < p; t++) {
        base += zm[a * p + t]! * z[q * p + t]!;
        cross += zm[a * p + t]! * d[q * p + t]!;
        bent += dm[a * p + t]! * d[q * p + t]!;
      }
      const own = a === q ? shift : 0;
      out[a * m + q] = base - own;
      out[a * m + r + q] = cross + own;
      out[(r + q) * m + a] = cross + own;
      out[(r + a) * m + r + q] = bent;
    }
  }
}

/**
 * Take over the settings that stand in `state.points` for the unit: update rows, M⁻¹, M⁻¹WM⁻¹ and
 * the criterion, and reload the unit. `worth` is what `replacementWorth` just returned.
 */
export function commit(
  state: ExchangeState,
  work: ReplacementWorkspace,
  at: { readonly unit: Unit; readonly worth: number },
): void {
  const { b, compiled } = state;
  const { unit, worth } = at;
  for (const row of unit.rows) fillRowInto(state, row);
  const isSteep = b ? worth < -0.9 * state.value : worth > STEEP;
  if (isSteep && refactor(state)) {
    loadUnit(state, unit);
    return;
  }
  updateInversesInto(state, work, unit.rows.length, compiled.columns);
  state.value += b ? worth : Math.log(worth);
  loadUnit(state, unit);
}

/**
 * C ← C − E Qᵀ and B ← B − E Gᵀ − G Eᵀ with Q = C[Z; D]ᵀ, E = Q T⁻¹, H = B[Z; D]ᵀ and
 * G = H − ½ E (UBUᵀ).
 */
function updateInversesInto(
  state: ExchangeState,
  work: ReplacementWorkspace,
  r: number,
  p: number,
): void {
  const { c, b, zc, zb } = state;
  const { dc, db, inverse, squareB, e, g } = work;
  const m = 2 * r;
  const q = (a: number, t: number): number => (a < r ? zc[a * p + t]! : dc[(a - r) * p + t]!);
  for (let a = 0; a < m; a++) {
    for (let t = 0; t < p; t++) {
      let sum = 0;
      for (let k = 0; k < m; k++) sum += inverse[a * m + k]! * q(k, t);
      e[a * p + t] = sum;
    }
  }
  for (let a = 0; a < m; a++) {
    const from =
      a < r ? zc.subarray(a * p, (a + 1) * p) : dc.subarray((a - r) * p, (a - r + 1) * p);
    const line = e.subarray(a * p, (a + 1) * p);
    for (let i = 0; i < p; i++) {
      const weight = from[i]!;
      for (let j = 0; j < p; j++) c[i * p + j]! -= weight * line[j]!;
    }
  }
  if (!b) return;
  for (let a = 0; a < m; a++) {
    for (let t = 0; t < p; t++) {
      let half = 0;
      for (let k = 0; k < m; k++) half += squareB[a * m + k]! * e[k * p + t]!;
      const h = a < r ? zb[a * p + t]! : db[(a - r) * p + t]!;
      g[a * p + t] = h - half / 2;
    }
  }
  for (let a = 0; a < m; a++) {
    const eLine = e.subarray(a * p, (a + 1) * p);
    const gLine = g.subarray(a * p, (a + 1) * p);
    for (let i = 0; i < p; i++) {
      const ei = eLine[i]!;
      const gi = gLine[i]!;
      for (let j = 0; j < p; j++) b[i * p + j]! -= ei * gLine[j]! + gi * eLine[j]!;
    }
  }
}
