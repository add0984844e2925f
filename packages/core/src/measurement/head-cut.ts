/** Where a transient at the head of a series ends. */
export type HeadCut =
  | { readonly kind: 'cut'; readonly at: number }
  /** The best cut is in the last half: the series has not outlived its transient. */
  | { readonly kind: 'too-short' };

/**
 * The cut that makes the standard error of the mean of the rest smallest:
 * argmin over d of Σ_{j>d}(z_j − z̄)²/(k − d)², d at most k/2. It looks back on a finished series; it
 * is no live light.
 *
 * @param z - values in time order, NaN where missing, shape (k)
 * @returns position of the first value to keep
 * @source White (1997), An effective truncation heuristic for bias reduction in simulation output,
 *   Simulation 69 (from memory)
 */
export function headCut(z: Float64Array): HeadCut {
  const k = z.length;
  const half = Math.floor(k / 2);
  let count = 0;
  let sum = 0;
  let squares = 0;
  let best = Number.POSITIVE_INFINITY;
  let at = 0;
  const origin = z.find((value) => !Number.isNaN(value)) ?? 0;
  for (let d = k - 1; d >= 0; d--) {
    const value = z[d]! - origin;
    if (!Number.isNaN(value)) {
      count++;
      sum += value;
      squares += value * value;
    }
    if (d > half || count === 0) continue;
    const statistic = Math.max(0, squares - (sum * sum) / count) / (count * count);
    if (statistic <= best) {
      best = statistic;
      at = d;
    }
  }
  return k < 4 || at >= half ? { kind: 'too-short' } : { kind: 'cut', at };
}

/**
 * `headCut` on means of five, which tames noise; the answer is in values of x.
 *
 * @source White, Cobb & Spratt (2000), A comparison of five steady-state truncation heuristics for
 *   simulation, Proc. Winter Simulation Conf. (from memory)
 */
export function headCutByFives(x: Float64Array): HeadCut {
  const cut = headCut(blockMeans(x, 5));
  return cut.kind === 'cut' ? { kind: 'cut', at: 5 * cut.at } : cut;
}

/** Means of blocks of `size` values; NaN where fewer than half are present; the rest is dropped. */
export function blockMeans(x: Float64Array, size: number): Float64Array {
  const out = new Float64Array(Math.floor(x.length / size));
  for (let b = 0; b < out.length; b++) {
    let sum = 0;
    let count = 0;
    for (let i = b * size; i < (b + 1) * size; i++) {
      const value = x[i]!;
      if (Number.isNaN(value)) continue;
      sum += value;
      count++;
    }
    out[b] = 2 * count >= size ? sum / count : Number.NaN;
  }
  return out;
}
