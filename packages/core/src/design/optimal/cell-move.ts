import { candidatesInto, type SearchStage } from './candidates.ts';
import type { ExchangeState } from './exchange-state.ts';
import type { Unit } from './layout.ts';
import { basisValue, partialTerm } from './term-table.ts';

/** A better setting of one coordinate and what it is worth; NaN when there is none. */
export interface CoordinateMove {
  readonly setting: number;
  /** New over old det M for D; change of tr(M⁻¹W) for A and I. */
  readonly worth: number;
}

/** Storage of the coordinate kernels, one per search. */
export interface MoveWorkspace {
  readonly candidates: Float64Array;
  /** u: terms without the moved factor, shape (rows, P). */
  readonly u: Float64Array;
  readonly slope: Float64Array;
  readonly slopeB: Float64Array;
  readonly bend: Float64Array;
  readonly bendB: Float64Array;
  readonly psi: Float64Array;
  readonly square: Float64Array;
  readonly inverse: Float64Array;
  readonly order: Int32Array;
}

/** Relative gain below which a move is not made: rounding on the grid, not worth it in refinement. */
export const LEAST_GAIN: Readonly<Record<SearchStage, number>> = { grid: 1e-8, refine: 3e-6 };

/**
 * Best setting of factor `j` for a unit of one row, everything else held.
 *
 * Write z for the row (pulled and weighted by V⁻¹), z + Σ ψ_g u_g for the row after the move, where
 * u_g holds the terms that carry basis function g and ψ_g = φ_g(new) − φ_g(old). With d = zᵀCz,
 * s = Σ ψ_g u_gᵀCz and q = ΣΣ ψ_g ψ_h u_gᵀCu_h, the determinant grows by (1 + s)² + (1 − d) q. Only
 * the few columns that carry the factor are touched, whatever the number of candidates.
 *
 * The unit must be loaded (`loadUnit`).
 * @source Meyer & Nachtsheim (1995), Technometrics 37:60–69; rank-two form derived from the matrix
 *   determinant lemma
 */
export function bestCellSetting(
  state: ExchangeState,
  work: MoveWorkspace,
  at: { readonly unit: Unit; readonly j: number; readonly stage: SearchStage },
): CoordinateMove {
  const { compiled, points, zc, zb, c, b, z } = state;
  const { table, columns: p } = compiled;
  const { j, unit } = at;
  const offset = unit.rows[0]! * table.k;
  const count = candidatesInto(work.candidates, compiled, { points, ...at });
  if (count === 0) return NO_MOVE;
  const size = table.basisSizes[j]!;
  const root = unit.root[0]!;
  const supports = table.supports[j]!;
  for (const support of supports) {
    for (const t of support) {
      work.u[t] = root * partialTerm(table, t, { points, offset, without: j });
    }
  }
  formsInto(work.slope, work.bend, { supports, u: work.u, zc, matrix: c, p });
  const ballot = {
    count,
    size,
    d: dot(z, zc, p),
    now: points[offset + j]!,
    levels: table.levelCounts[j]!,
    least: LEAST_GAIN[at.stage],
  };
  if (!b) return bestForD(work, ballot);
  formsInto(work.slopeB, work.bendB, { supports, u: work.u, zc: zb, matrix: b, p });
  return bestForTrace(work, { ...ballot, e: dot(z, zb, p), trace: state.value });
}

function dot(a: Float64Array, b: Float64Array, p: number): number {
  let sum = 0;
  for (let t = 0; t < p; t++) sum += a[t]! * b[t]!;
  return sum;
}

const NO_MOVE: CoordinateMove = { setting: Number.NaN, worth: Number.NaN };

/** slope_g = u_gᵀ(Cz) and bend_gh = u_gᵀCu_h over the columns that carry the factor. */
function formsInto(
  slope: Float64Array,
  bend: Float64Array,
  from: {
    readonly supports: readonly Int32Array[];
    readonly u: Float64Array;
    readonly zc: Float64Array;
    readonly matrix: Float64Array;
    readonly p: number;
  },
): void {
  const { supports, u, zc, matrix, p } = from;
  const size = supports.length;
  for (let g = 0; g < size; g++) {
    const support = supports[g]!;
    let sum = 0;
    for (let i = 0; i < support.length; i++) sum += u[support[i]!]! * zc[support[i]!]!;
    slope[g] = sum;
    for (let h = 0; h <= g; h++) {
      const other = supports[h]!;
      let form = 0;
      for (let i = 0; i < support.length; i++) {
        const line = support[i]! * p;
        let dot = 0;
        for (let k = 0; k < other.length; k++) dot += matrix[line + other[k]!]! * u[other[k]!]!;
        form += u[support[i]!]! * dot;
      }
      bend[g * size + h] = form;
      bend[h * size + g] = form;
    }
  }
}

interface Ballot {
  readonly count: number;
  readonly size: number;
  readonly d: number;
  readonly now: number;
  readonly levels: number;
  readonly least: number;
}

function bestForD(
  work: MoveWorkspace,
  { count, size, d, now, levels, least }: Ballot,
): CoordinateMove {
  const { candidates, slope, bend, psi } = work;
  let best = 1 + least;
  let setting = Number.NaN;
  for (let i = 0; i < count; i++) {
    const value = candidates[i]!;
    psiInto(psi, { size, value, now, levels });
    let s = 0;
    let q = 0;
    for (let g = 0; g < size; g++) {
      const weight = psi[g]!;
      if (weight === 0) continue;
      s += weight * slope[g]!;
      for (let h = 0; h < size; h++) q += weight * psi[h]! * bend[g * size + h]!;
    }
    const ratio = (1 + s) * (1 + s) + (1 - d) * q;
    if (ratio > best) {
      best = ratio;
      setting = value;
    }
  }
  return Number.isNaN(setting) ? NO_MOVE : { setting, worth: best };
}

function bestForTrace(
  work: MoveWorkspace,
  ballot: Ballot & { readonly e: number; readonly trace: number },
): CoordinateMove {
  const { candidates, slope, slopeB, bend, bendB, psi } = work;
  const { count, size, d, e, now, levels, trace, least } = ballot;
  let best = -least * trace;
  let setting = Number.NaN;
  for (let i = 0; i < count; i++) {
    const value = candidates[i]!;
    psiInto(psi, { size, value, now, levels });
    let s = 0;
    let q = 0;
    let sB = 0;
    let qB = 0;
    for (let g = 0; g < size; g++) {
      const weight = psi[g]!;
      if (weight === 0) continue;
      s += weight * slope[g]!;
      sB += weight * slopeB[g]!;
      for (let h = 0; h < size; h++) {
        const both = weight * psi[h]!;
        q += both * bend[g * size + h]!;
        qB += both * bendB[g * size + h]!;
      }
    }
    const ratio = (1 + s) * (1 + s) + (1 - d) * q;
    if (ratio < 1e-9) continue;
    const change = (q * e - 2 * (1 + s) * sB - (1 - d) * qB) / ratio;
    if (change < best) {
      best = change;
      setting = value;
    }
  }
  return Number.isNaN(setting) ? NO_MOVE : { setting, worth: best };
}

/** ψ_g = φ_g(value) − φ_g(now) for g = 1…size. */
export function psiInto(
  psi: Float64Array,
  { size, value, now, levels }: { size: number; value: number; now: number; levels: number },
): void {
  for (let g = 0; g < size; g++) {
    psi[g] = basisValue(g + 1, value, levels) - basisValue(g + 1, now, levels);
  }
}
