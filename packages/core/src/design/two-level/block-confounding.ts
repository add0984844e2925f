import type { ColumnSet } from './column-set.ts';

/** A way to run a fraction in 2^q blocks. */
export interface Blocking {
  /** q independent vectors whose signs number the blocks. */
  readonly generators: readonly number[];
  /** Effects of order 1, 2, 3, … given up to block differences. */
  readonly confounded: readonly number[];
}

/**
 * The blocking in 2^q blocks that gives up fewest effects: no main effect and no two-factor interaction
 * asked to stay clear, then fewest two-factor interactions, then fewest of three factors, and on.
 * All q-dimensional subspaces of the run space are examined, so the answer is proven.
 *
 * @param set - the fraction
 * @param q - binary logarithm of the number of blocks, from 1 to r − 1
 * @param kept - vectors of interactions that blocks must not take
 * @returns null when every blocking takes a main effect or a kept interaction
 */
export function leastConfounding(
  set: ColumnSet,
  q: number,
  kept: readonly number[] = [],
): Blocking | null {
  const orders = set.columns.length;
  const counts = effectCounts(set);
  const forbidden = new Uint8Array(1 << set.rank);
  for (const vector of [...set.columns, ...kept]) forbidden[vector] = 1;
  let best: Blocking | null = null;
  eachSubspace(set.rank, q, forbidden, (generators, members) => {
    const confounded = new Array<number>(orders).fill(0);
    for (let i = 1; i < members.length; i++) {
      for (let order = 0; order < orders; order++) {
        confounded[order]! += counts[members[i]! * orders + order]!;
      }
    }
    if (best === null || compareOrders(confounded, best.confounded) < 0) {
      best = { generators: [...generators], confounded };
    }
  });
  return best;
}

function compareOrders(a: readonly number[], b: readonly number[]): number {
  const at = a.findIndex((value, i) => value !== b[i]);
  return at < 0 ? 0 : a[at]! - b[at]!;
}

/** Number of effects of order 1..k that each vector stands for, shape (2^r, k), row-major. */
function effectCounts({ rank, columns }: ColumnSet): Float64Array {
  const k = columns.length;
  const width = k + 1;
  let counts = new Float64Array((1 << rank) * width);
  counts[0] = 1;
  for (const column of columns) {
    const next = counts.slice();
    for (let vector = 0; vector < 1 << rank; vector++) {
      for (let order = 0; order < k; order++) {
        next[(vector ^ column) * width + order + 1]! += counts[vector * width + order]!;
      }
    }
    counts = next;
  }
  const out = new Float64Array((1 << rank) * k);
  for (let vector = 0; vector < 1 << rank; vector++) {
    out.set(counts.subarray(vector * width + 1, (vector + 1) * width), vector * k);
  }
  return out;
}

/**
 * Every subspace of dimension q that avoids the forbidden vectors, once each: its generators are in
 * reduced form, leading bits descending and absent from one another.
 */
function eachSubspace(
  rank: number,
  q: number,
  forbidden: Uint8Array,
  visit: (generators: readonly number[], members: Int32Array) => void,
): void {
  const generators: number[] = [];
  const members = new Int32Array(1 << q);
  const extend = (depth: number, below: number): void => {
    if (depth === q) {
      visit(generators, members);
      return;
    }
    const size = 1 << depth;
    for (let lead = below - 1; lead >= 0; lead--) {
      for (let vector = 1 << lead; vector < 2 << lead; vector++) {
        if (generators.some((generator) => (generator >> lead) & 1)) break;
        let isAllowed = true;
        for (let m = 0; m < size; m++) {
          members[size + m] = members[m]! ^ vector;
          if (forbidden[members[size + m]!] === 1) isAllowed = false;
        }
        if (!isAllowed) continue;
        generators.push(vector);
        extend(depth + 1, lead);
        generators.pop();
      }
    }
  };
  extend(0, rank);
}
