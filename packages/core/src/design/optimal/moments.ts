import { seededUniform, type Uniform } from '../../random/uniform.ts';
import { randomPointInto } from './random-point.ts';
import { isInside, isUnlimited, type Region } from './region.ts';
import { type TermTable, termRowInto } from './term-table.ts';

/** Mean of f(x)f(x)ᵀ over the region, shape (p, p). */
export interface Moments {
  readonly matrix: Float64Array;
  /** Independent estimates of `matrix` when it was sampled; empty when it is exact. */
  readonly batches: readonly Float64Array[];
  readonly points: number;
}

const BATCHES = 16;
const POINTS_PER_BATCH = 512;
const LEAST_ACCEPTANCE = 1 / 200;

/**
 * Moment matrix of the model terms over the region: numeric factors uniform on [−1, 1], named
 * levels equally often. Exact when no limit cuts the region; else the mean of 16 shifted Halton
 * sequences of 512 accepted points (or, when fewer than 1 in 200 points are feasible, Gibbs sweeps),
 * each an independent estimate from which the error of a result can be told.
 *
 * A numeric factor that takes only some levels is still averaged over its whole range: predictions
 * are wanted between the levels.
 * @source Goos & Jones (2011), Optimal Design of Experiments, section 4.3.5 (moment matrix);
 *   Cranley & Patterson (1976), SIAM J. Numer. Anal. 13:904–914 (random shift)
 */
export function momentMatrix(
  table: TermTable,
  region: Region,
  { centres, seed }: { readonly centres: readonly Float64Array[]; readonly seed: number },
): Moments {
  if (isUnlimited(region)) return { matrix: exactMoments(table), batches: [], points: 0 };
  const uniform = seededUniform(seed, 'optimal moments');
  const batches = Array.from({ length: BATCHES }, () =>
    batchMoments(table, region, { centres, uniform }),
  );
  const matrix = new Float64Array(table.p ** 2);
  for (const batch of batches) {
    for (let i = 0; i < matrix.length; i++) matrix[i]! += batch[i]! / BATCHES;
  }
  return { matrix, batches, points: BATCHES * POINTS_PER_BATCH };
}

/** Products of one-factor means: 1/(e + 1) for an even power e; 2/L and 1/L for contrasts of L levels. */
function exactMoments({ p, k, code, levelCounts }: TermTable): Float64Array {
  const out = new Float64Array(p * p);
  for (let t = 0; t < p; t++) {
    for (let s = 0; s <= t; s++) {
      let value = 1;
      for (let j = 0; j < k && value !== 0; j++) {
        value *= meanProduct(code[t * k + j]!, code[s * k + j]!, levelCounts[j]!);
      }
      out[t * p + s] = value;
      out[s * p + t] = value;
    }
  }
  return out;
}

function meanProduct(g: number, h: number, levelCount: number): number {
  if (levelCount === 0) return (g + h) % 2 === 0 ? 1 / (g + h + 1) : 0;
  if (g === 0 && h === 0) return 1;
  if (g === 0 || h === 0) return 0;
  return (g === h ? 2 : 1) / levelCount;
}

function batchMoments(
  table: TermTable,
  region: Region,
  { centres, uniform }: { centres: readonly Float64Array[]; uniform: Uniform },
): Float64Array {
  const { p } = table;
  const sum = new Float64Array(p * p);
  const row = new Float64Array(p);
  const next = feasibleSequence(region, centres, uniform);
  for (let i = 0; i < POINTS_PER_BATCH; i++) {
    termRowInto(row, table, { points: next(), offset: 0, at: 0 });
    for (let t = 0; t < p; t++) {
      const scaled = row[t]! / POINTS_PER_BATCH;
      for (let s = 0; s < p; s++) sum[t * p + s]! += scaled * row[s]!;
    }
  }
  return sum;
}

const PRIMES = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53];

/** Feasible points one by one: a shifted Halton sequence thinned to the region, or Gibbs sweeps. */
export function feasibleSequence(
  region: Region,
  centres: readonly Float64Array[],
  uniform: Uniform,
): () => Float64Array {
  const k = region.factors.length;
  const point = new Float64Array(k);
  const shift = Float64Array.from({ length: k }, () => uniform());
  let index = 0;
  let accepted = 0;
  const isThin = (): boolean => index > 2000 && accepted < LEAST_ACCEPTANCE * index;
  return () => {
    while (!isThin()) {
      index++;
      for (let j = 0; j < k; j++) {
        const base = PRIMES[j];
        const u = base ? (radicalInverse(index, base) + shift[j]!) % 1 : uniform();
        const count = 'levels' in region.factors[j]! ? region.levels[j]!.length : 0;
        point[j] = count > 0 ? Math.floor(u * count) : 2 * u - 1;
      }
      if (isInside(region, point)) {
        accepted++;
        return point;
      }
    }
    randomPointInto(point, region, { centres, uniform, sweeps: 8 });
    return point;
  };
}

/** Digits of `index` in `base`, mirrored at the point. */
function radicalInverse(index: number, base: number): number {
  let value = 0;
  let scale = 1 / base;
  for (let rest = index; rest > 0; rest = Math.floor(rest / base)) {
    value += (rest % base) * scale;
    scale /= base;
  }
  return value;
}
