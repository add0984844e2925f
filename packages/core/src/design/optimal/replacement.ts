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
  readonly q: Float64Array;
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
    q: new Float64Array(m * p),
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
    for (let t = 0; t < p; t++) work.before[a * p + t] = x[at + t]!;
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
    for (let t = 0; t < p; t++) x[at + t] = work.before[q * p + t]!;
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
 * Take over the settings that stand in `state.points` for the unit: update rows, M⁻¹, M⁻¹WM⁻¹, the
 * criterion and the loaded unit. `worth` is what `replacementWorth` just returned.
 */
export function commit(
  state: ExchangeState,
  work: ReplacementWorkspace,
  at: { readonly unit: Unit; readonly worth: number },
): void {
  const { b, compiled } = state;
  const { unit, worth } = at;
  const p = compiled.columns;
  const r = unit.rows.length;
  for (let a = 0; a < r; a++) fillRowInto(state, unit.rows[a]!);
  const isSteep = b ? worth < -0.9 * state.value : worth > STEEP;
  if (isSteep && refactor(state)) {
    loadUnit(state, unit);
    return;
  }
  combinationsInto(state, work, r, p);
  pairsOffInto(state.c, { first: work.q, second: work.e, p, m: 2 * r });
  if (b) {
    pairsOffInto(b, { first: work.e, second: work.g, p, m: 2 * r });
    pairsOffInto(b, { first: work.g, second: work.e, p, m: 2 * r });
  }
  state.value += b ? worth : Math.log(worth);
  moveUnitInto(state, work, r, p);
}

/**
 * Q = [Z; D]C, E = T⁻¹Q, and with H = [Z; D]B, G = H − ½ (UBUᵀ) E, all of shape (2r, P), so that
 * C ← C − QᵀE and B ← B − EᵀG − GᵀE.
 */
function combinationsInto(
  { b, zc, zb }: ExchangeState,
  { dc, db, inverse, squareB, q, e, g }: ReplacementWorkspace,
  r: number,
  p: number,
): void {
  const m = 2 * r;
  for (let t = 0; t < r * p; t++) {
    q[t] = zc[t]!;
    q[r * p + t] = dc[t]!;
  }
  weighInto(e, inverse, { rows: q, m, p });
  if (!b) return;
  weighInto(g, squareB, { rows: e, m, p });
  for (let t = 0; t < r * p; t++) {
    g[t] = zb[t]! - g[t]! / 2;
    g[r * p + t] = db[t]! - g[r * p + t]! / 2;
  }
}

/** out (m, p) = weights (m, m) times rows (m, p). */
function weighInto(
  out: Float64Array,
  weights: Float64Array,
  { rows, m, p }: { rows: Float64Array; m: number; p: number },
): void {
  for (let a = 0; a < m; a++) {
    const at = a * p;
    for (let t = 0; t < p; t++) out[at + t] = 0;
    for (let k = 0; k < m; k++) {
      const weight = weights[a * m + k]!;
      const from = k * p;
      for (let t = 0; t < p; t++) out[at + t]! += weight * rows[from + t]!;
    }
  }
}

/** matrix ← matrix − firstᵀ second; m is even, so two rows are taken at a time. */
function pairsOffInto(
  matrix: Float64Array,
  from: { first: Float64Array; second: Float64Array; p: number; m: number },
): void {
  const { first, second, p, m } = from;
  for (let a = 0; a < m; a += 2) {
    const lead = a * p;
    const next = lead + p;
    for (let i = 0; i < p; i++) {
      const x = first[lead + i]!;
      const y = first[next + i]!;
      const line = i * p;
      for (let j = 0; j < p; j++) {
        matrix[line + j]! -= x * second[lead + j]! + y * second[next + j]!;
      }
    }
  }
}

/** z ← z + D, and its products with the new C and B without going through the matrices again. */
function moveUnitInto(
  { z, zc, zb, b }: ExchangeState,
  { d, dc, db, q, e, g }: ReplacementWorkspace,
  r: number,
  p: number,
): void {
  for (let row = 0; row < r; row++) {
    const at = row * p;
    for (let t = at; t < at + p; t++) {
      z[t]! += d[t]!;
      zc[t]! += dc[t]!;
      if (b) zb[t]! += db[t]!;
    }
    for (let a = 0; a < 2 * r; a++) {
      const line = a * p;
      const onQ = dot(z, at, q, line, p);
      for (let t = 0; t < p; t++) zc[at + t]! -= onQ * e[line + t]!;
      if (!b) continue;
      const onE = dot(z, at, e, line, p);
      const onG = dot(z, at, g, line, p);
      for (let t = 0; t < p; t++) zb[at + t]! -= onG * e[line + t]! + onE * g[line + t]!;
    }
  }
}

function dot(x: Float64Array, xAt: number, y: Float64Array, yAt: number, p: number): number {
  let sum = 0;
  for (let t = 0; t < p; t++) sum += x[xAt + t]! * y[yAt + t]!;
  return sum;
}
