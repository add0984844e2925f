import { seededUniform } from '../../random/uniform.ts';
import { randomPointInto } from './random-point.ts';
import { isInside, type Region } from './region.ts';
import { factorSpdInto } from './spd.ts';
import { type TermTable, termRowInto } from './term-table.ts';

const MOST_CANDIDATES = 2187; // 3⁷

/**
 * Range over the region of the part of each if-possible term that the primary terms (the first
 * `primary` columns) do not explain by least squares. Numeric factors stand at −1, 0 and 1 (or
 * their own levels), named ones at every level; beyond 2187 combinations a seeded sample is used.
 *
 * @returns shape (p − primary); 0 for a term the primary terms explain wholly
 * @source DuMouchel & Jones (1994), Technometrics 36:37–47
 */
export function potentialTermRanges(
  table: TermTable,
  primary: number,
  { region, centres }: { readonly region: Region; readonly centres: readonly Float64Array[] },
): Float64Array {
  const { p, k } = table;
  const candidates = candidatePoints(region, centres);
  const n = candidates.length / k;
  const x = new Float64Array(n * p);
  for (let i = 0; i < n; i++) {
    termRowInto(x, table, { points: candidates, offset: i * k, at: i * p });
  }
  const slopes = primarySlopes(x, { n, p, primary });
  return Float64Array.from({ length: p - primary }, (_, c) => {
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < n; i++) {
      let residual = x[i * p + primary + c]!;
      for (let j = 0; j < primary; j++) residual -= slopes[c * primary + j]! * x[i * p + j]!;
      low = Math.min(low, residual);
      high = Math.max(high, residual);
    }
    return high - low;
  });
}

/** Least-squares slopes of the later columns on the first `primary`, shape (p − primary, primary). */
function primarySlopes(
  x: Float64Array,
  { n, p, primary }: { n: number; p: number; primary: number },
): Float64Array {
  const gram = new Float64Array(primary * primary);
  const slopes = new Float64Array((p - primary) * primary);
  for (let i = 0; i < n; i++) {
    const row = i * p;
    for (let a = 0; a < primary; a++) {
      for (let b = 0; b <= a; b++) gram[a * primary + b]! += x[row + a]! * x[row + b]!;
      for (let c = primary; c < p; c++) {
        slopes[(c - primary) * primary + a]! += x[row + a]! * x[row + c]!;
      }
    }
  }
  // A trace of ridge keeps terms that are aliased on the candidates from stopping the scaling.
  for (let a = 0; a < primary; a++) gram[a * primary + a]! += 1e-9 * n;
  factorSpdInto(gram, primary, 0);
  for (let c = 0; c < p - primary; c++) {
    solveInto(slopes.subarray(c * primary, (c + 1) * primary), gram, primary);
  }
  return slopes;
}

function solveInto(v: Float64Array, l: Float64Array, p: number): void {
  for (let i = 0; i < p; i++) {
    for (let k = 0; k < i; k++) v[i]! -= l[i * p + k]! * v[k]!;
    v[i]! /= l[i * p + i]!;
  }
  for (let i = p - 1; i >= 0; i--) {
    for (let k = i + 1; k < p; k++) v[i]! -= l[k * p + i]! * v[k]!;
    v[i]! /= l[i * p + i]!;
  }
}

/** Feasible points of the three-level grid, or of a seeded sample with deep points added. */
export function candidatePoints(region: Region, centres: readonly Float64Array[]): Float64Array {
  const k = region.factors.length;
  const sets = region.levels.map((levels) => levels ?? Float64Array.of(-1, 0, 1));
  const total = sets.reduce((product, set) => product * set.length, 1);
  const isWhole = total <= MOST_CANDIDATES;
  const uniform = seededUniform(1, 'optimal candidates');
  const point = new Float64Array(k);
  const kept: number[] = [];
  for (let i = 0; i < Math.min(total, MOST_CANDIDATES); i++) {
    let rest = i;
    for (let j = 0; j < k; j++) {
      const set = sets[j]!;
      point[j] = set[isWhole ? rest % set.length : Math.floor(uniform() * set.length)]!;
      rest = Math.floor(rest / set.length);
    }
    if (isInside(region, point)) kept.push(...point);
  }
  if (centres.length > 0) {
    for (let i = 0; i < 500; i++) {
      randomPointInto(point, region, { centres, uniform });
      kept.push(...point);
    }
  }
  return Float64Array.from(kept);
}
