import type { Dense } from '../linear/dense.ts';
import { firthLogistic } from './firth-logistic.ts';
import { type OrthonormalColumns, orthonormalColumns } from './log-linear.ts';

/** Columns of mean square 1, so that logits and coefficients are of one size. */
export function scaledBasis({ basis, back }: OrthonormalColumns): OrthonormalColumns {
  const grow = Math.sqrt(basis.rows);
  return {
    kind: 'full-rank',
    basis: { ...basis, data: basis.data.map((value) => value * grow) },
    back: { ...back, data: back.data.map((value) => value * grow) },
  };
}

/**
 * Penalised likelihood ratio of one coefficient against a value, the others free.
 *
 * Far from the estimates of separated outcomes the penalised likelihood has more than one top, so
 * each search starts from the estimates, from the estimates stretched with the value, and from the
 * last top found; the highest counts.
 */
export function penalisedProfile(
  x: Dense,
  y: Uint8Array,
  j: number,
  top: number,
): (value: number) => number {
  const columns = orthonormalColumns(lastColumn(x, j));
  if (columns.kind === 'aliased') throw new Error('the columns were independent before');
  const { basis, back } = scaledBasis(columns);
  const scale = back.data[back.data.length - 1]!;
  const free = firthLogistic(basis, y).coefficients;
  const estimate = free.at(-1)! * scale;
  let last = free;
  return (value) => {
    const stretch = Math.min(8, Math.abs(value / estimate));
    const starts = [free, free.map((b) => b * stretch), last];
    let best = Number.NEGATIVE_INFINITY;
    for (const start of starts) {
      const fit = firthLogistic(basis, y, { held: value / scale, start });
      if (!(fit.penalised > best)) continue;
      best = fit.penalised;
      last = fit.coefficients;
    }
    return 2 * (top - best);
  };
}

/** The same columns with column j moved to the end, where a triangular factor leaves it alone. */
function lastColumn({ rows: n, cols: p, data }: Dense, j: number): Dense {
  const out = new Float64Array(n * p);
  for (let i = 0; i < n; i++) {
    let to = i * p;
    for (let k = 0; k < p; k++) if (k !== j) out[to++] = data[i * p + k]!;
    out[to] = data[i * p + j]!;
  }
  return { rows: n, cols: p, data: out };
}

/** Where the profile first exceeds `drop` going from the estimate by steps of `stride`. */
export function profileLimit(
  profile: (value: number) => number,
  estimate: number,
  stride: number,
  drop: number,
): number {
  let near = estimate;
  let far = estimate + 2 * stride;
  let fNear = -drop;
  let fFar = profile(far) - drop;
  for (let step = 0; fFar < 0; step++) {
    if (step > 24) return stride > 0 ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY;
    near = far;
    fNear = fFar;
    far += stride * 1.5 ** step;
    fFar = profile(far) - drop;
  }
  // Illinois: secants that halve the weight of an end that stays.
  for (let step = 0; step < 60 && Math.abs(far - near) > 1e-9 * Math.abs(stride); step++) {
    const middle = far - (fFar * (far - near)) / (fFar - fNear);
    const f = profile(middle) - drop;
    if (f > 0 === fFar > 0) fNear /= 2;
    else {
      near = far;
      fNear = fFar;
    }
    far = middle;
    fFar = f;
    if (Math.abs(f) < 1e-11) break;
  }
  return far;
}
