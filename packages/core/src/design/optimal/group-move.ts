import { candidatesInto, type SearchStage } from './candidates.ts';
import { type CoordinateMove, LEAST_GAIN, type MoveWorkspace, psiInto } from './cell-move.ts';
import type { ExchangeState } from './exchange-state.ts';
import type { Unit } from './layout.ts';
import { inverseFromLuInto, luInto } from './spd.ts';
import { partialTerm, type TermTable } from './term-table.ts';

/**
 * Best setting of factor `j` for a unit of r rows that move together (a whole plot, a sub-whole
 * plot, or tied whole plots).
 *
 * The same algebra as for one row, with r × r blocks: Z the weighted rows, Z + D after the move,
 * T = [[ZCZᵀ − I, I + ZCDᵀ], [·, DCDᵀ]]. The determinant grows by (−1)ʳ det T, and tr(M⁻¹W) falls by
 * tr(T⁻¹ [[ZBZᵀ, ZBDᵀ], [·, DBDᵀ]]).
 *
 * @source Jones & Goos (2007), Applied Statistics 56:347–364
 */
export function bestGroupSetting(
  state: ExchangeState,
  work: MoveWorkspace,
  at: { readonly unit: Unit; readonly j: number; readonly stage: SearchStage },
): CoordinateMove {
  const { compiled, points } = state;
  const { table } = compiled;
  const { j, unit } = at;
  const count = candidatesInto(work.candidates, compiled, { points, ...at });
  const now = points[unit.rows[0]! * table.k + j]!;
  const forms = groupForms(state, work, unit, j);
  const size = table.basisSizes[j]!;
  const least = LEAST_GAIN[at.stage];
  let best = state.b ? -least * state.value : 1 + least;
  let setting = Number.NaN;
  for (let i = 0; i < count; i++) {
    const value = work.candidates[i]!;
    if (value === now) continue;
    psiInto(work.psi, { size, value, now, levels: table.levelCounts[j]! });
    const worth = groupWorth(forms, work, size);
    if (state.b ? worth < best : worth > best) {
      best = worth;
      setting = value;
    }
  }
  return { setting, worth: Number.isNaN(setting) ? Number.NaN : best };
}

/** Blocks of T and of its counterpart with B, by basis function of the moved factor. */
interface GroupForms {
  readonly r: number;
  /** ZCZᵀ (r, r), ZCU_gᵀ per g, U_gCU_hᵀ per (g, h). */
  readonly base: Float64Array;
  readonly slope: readonly Float64Array[];
  readonly bend: readonly Float64Array[];
  readonly baseB: Float64Array | null;
  readonly slopeB: readonly Float64Array[];
  readonly bendB: readonly Float64Array[];
}

function groupForms(state: ExchangeState, work: MoveWorkspace, unit: Unit, j: number): GroupForms {
  const { compiled, c, b, z, zc, zb } = state;
  const { table, columns: p } = compiled;
  const r = unit.rows.length;
  weightedPartialsInto(work.u, table, { points: state.points, unit, j, p });
  const shape = { r, p, u: work.u, supports: table.supports[j]! };
  const plain = formsOf(z, zc, c, shape);
  const backed = b ? formsOf(z, zb, b, shape) : null;
  return {
    r,
    ...plain,
    baseB: backed?.base ?? null,
    slopeB: backed?.slope ?? [],
    bendB: backed?.bend ?? [],
  };
}

/** U: terms without factor j, rows combined by the unit's root, shape (r, P). */
function weightedPartialsInto(
  u: Float64Array,
  table: TermTable,
  from: {
    readonly points: Float64Array;
    readonly unit: Unit;
    readonly j: number;
    readonly p: number;
  },
): void {
  const { points, unit, j, p } = from;
  const r = unit.rows.length;
  for (const support of table.supports[j]!) {
    for (const t of support) {
      for (let a = 0; a < r; a++) u[a * p + t] = 0;
      for (let q = 0; q < r; q++) {
        const partial = partialTerm(table, t, {
          points,
          offset: unit.rows[q]! * table.k,
          without: j,
        });
        for (let a = 0; a <= q; a++) u[a * p + t]! += unit.root[a * r + q]! * partial;
      }
    }
  }
}

function formsOf(
  z: Float64Array,
  zm: Float64Array,
  matrix: Float64Array,
  shape: { r: number; p: number; u: Float64Array; supports: readonly Int32Array[] },
): { base: Float64Array; slope: Float64Array[]; bend: Float64Array[] } {
  const { r, p, u, supports } = shape;
  const base = new Float64Array(r * r);
  for (let a = 0; a < r; a++) {
    for (let q = 0; q < r; q++) {
      let sum = 0;
      for (let t = 0; t < p; t++) sum += zm[a * p + t]! * z[q * p + t]!;
      base[a * r + q] = sum;
    }
  }
  const slope = supports.map((support) => {
    const out = new Float64Array(r * r);
    for (let a = 0; a < r; a++) {
      for (let q = 0; q < r; q++) {
        let sum = 0;
        for (const t of support) sum += zm[a * p + t]! * u[q * p + t]!;
        out[a * r + q] = sum;
      }
    }
    return out;
  });
  const bend: Float64Array[] = [];
  for (const first of supports) {
    for (const second of supports) bend.push(bendForm(first, second, matrix, shape));
  }
  return { base, slope, bend };
}

function bendForm(
  first: Int32Array,
  second: Int32Array,
  matrix: Float64Array,
  { r, p, u }: { r: number; p: number; u: Float64Array },
): Float64Array {
  const out = new Float64Array(r * r);
  for (const t of first) {
    for (let q = 0; q < r; q++) {
      let dot = 0;
      for (const s of second) dot += matrix[t * p + s]! * u[q * p + s]!;
      for (let a = 0; a < r; a++) out[a * r + q]! += u[a * p + t]! * dot;
    }
  }
  return out;
}

/** det ratio, or change of the trace, of the move whose ψ stands in `work`. */
function groupWorth(forms: GroupForms, work: MoveWorkspace, size: number): number {
  const { r, base, slope, bend, baseB, slopeB, bendB } = forms;
  const { square, inverse, order, psi } = work;
  const m = 2 * r;
  fillBlocksInto(square, { r, size, psi, base, slope, bend, shift: 1 });
  const det = luInto(square, order, m);
  const ratio = r % 2 === 0 ? det : -det;
  if (!baseB) return ratio;
  if (!(ratio > 1e-9)) return Number.POSITIVE_INFINITY;
  inverseFromLuInto(inverse, square, { order, m });
  fillBlocksInto(square, { r, size, psi, base: baseB, slope: slopeB, bend: bendB, shift: 0 });
  let trace = 0;
  for (let i = 0; i < m; i++) {
    for (let k = 0; k < m; k++) trace += inverse[i * m + k]! * square[k * m + i]!;
  }
  return -trace;
}

/** [[base − shift·I, shift·I + Σψ slope], [·ᵀ, ΣΣψψ bend]], shape (2r, 2r). */
function fillBlocksInto(
  out: Float64Array,
  from: {
    readonly r: number;
    readonly size: number;
    readonly psi: Float64Array;
    readonly base: Float64Array;
    readonly slope: readonly Float64Array[];
    readonly bend: readonly Float64Array[];
    readonly shift: number;
  },
): void {
  const { r, size, psi, base, slope, bend, shift } = from;
  const m = 2 * r;
  for (let a = 0; a < r; a++) {
    for (let q = 0; q < r; q++) {
      const own = a === q ? shift : 0;
      const at = a * r + q;
      let cross = own;
      let bent = 0;
      for (let g = 0; g < size; g++) {
        const weight = psi[g]!;
        if (weight === 0) continue;
        cross += weight * slope[g]![at]!;
        for (let h = 0; h < size; h++) bent += weight * psi[h]! * bend[g * size + h]![at]!;
      }
      out[a * m + q] = base[at]! - own;
      out[a * m + r + q] = cross;
      out[(r + q) * m + a] = cross;
      out[(r + a) * m + r + q] = bent;
    }
  }
}
