import { tTwoSided } from '@strandwise/core';

/**
 * Spearman's rank correlation with the p of its t approximation; null below five pairs, or when one side is all alike.
 *
 * @source Kendall & Gibbons (1990), Rank Correlation Methods (from memory)
 */
export function rankCorrelation(
  a: readonly number[],
  b: readonly number[],
): { readonly rho: number; readonly p: number | null } {
  const [x, y] = [ranks(a), ranks(b)];
  const n = a.length;
  const middle = (n + 1) / 2;
  let xy = 0;
  let xx = 0;
  let yy = 0;
  for (let i = 0; i < n; i++) {
    xy += (x[i]! - middle) * (y[i]! - middle);
    xx += (x[i]! - middle) ** 2;
    yy += (y[i]! - middle) ** 2;
  }
  const rho = xx > 0 && yy > 0 ? xy / Math.sqrt(xx * yy) : 0;
  if (n < 5 || xx === 0 || yy === 0) return { rho, p: null };
  const left = Math.max(1e-12, 1 - rho * rho);
  return { rho, p: tTwoSided(rho * Math.sqrt((n - 2) / left), n - 2) };
}

/** Ranks from 1, ties at their mean. */
function ranks(values: readonly number[]): number[] {
  const order = values.map((_, i) => i).sort((i, j) => values[i]! - values[j]!);
  const out = new Array<number>(values.length);
  for (let from = 0; from < order.length; ) {
    let to = from;
    while (to + 1 < order.length && values[order[to + 1]!] === values[order[from]!]) to++;
    for (let k = from; k <= to; k++) out[order[k]!] = (from + to) / 2 + 1;
    from = to + 1;
  }
  return out;
}
