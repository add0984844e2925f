import type { Uniform } from '../random/uniform.ts';
import { freeBranches, leavesInto, type RunBranch, shuffledTree } from './run-tree.ts';

/** What an order costs; smaller is better. The array is reused: read it, do not keep it. */
export type OrderValue = (order: Int32Array) => number;

export interface OrderSearch {
  readonly runs: number;
  readonly starts: number;
  /** Orders looked at from one start before it is left as it is. */
  readonly evaluationsPerStart: number;
  readonly uniform: Uniform;
}

/**
 * The best order found by descent from seeded random starts.
 *
 * Within every free branch it tries reversing a stretch (2-opt) and moving a stretch of one to three
 * children elsewhere (or-opt), and keeps the first change that helps. Whole orders are valued, so an
 * asymmetric cost of change is no obstacle.
 *
 * @returns run indices in order
 */
export function bestOrder(tree: RunBranch, value: OrderValue, search: OrderSearch): Int32Array {
  const scratch = new Int32Array(search.runs);
  let best: Int32Array = new Int32Array(search.runs);
  let bestValue = Number.POSITIVE_INFINITY;
  for (let start = 0; start < search.starts; start++) {
    const candidate = shuffledTree(tree, search.uniform);
    const reached = descend(candidate, value, scratch, search.evaluationsPerStart);
    if (reached < bestValue - 1e-9) {
      bestValue = reached;
      best = leavesInto(new Int32Array(search.runs), candidate);
    }
  }
  return best;
}

function descend(
  tree: RunBranch,
  value: OrderValue,
  scratch: Int32Array,
  evaluations: number,
): number {
  let current = value(leavesInto(scratch, tree));
  const branches = freeBranches(tree);
  let left = evaluations;
  let isImproved = true;
  while (isImproved && left > 0) {
    isImproved = false;
    for (const branch of branches) {
      for (const moved of neighbours(branch.children)) {
        if (left-- <= 0) return current;
        const before = branch.children;
        branch.children = moved;
        const next = value(leavesInto(scratch, tree));
        if (next < current - 1e-9) {
          current = next;
          isImproved = true;
          break;
        }
        branch.children = before;
      }
    }
  }
  return current;
}

function* neighbours<T>(items: readonly T[]): Generator<T[]> {
  const n = items.length;
  for (let i = 0; i < n - 1; i++) {
    for (let j = i + 1; j < n; j++) {
      yield [...items.slice(0, i), ...items.slice(i, j + 1).reverse(), ...items.slice(j + 1)];
    }
  }
  for (let length = 1; length <= Math.min(3, n - 2); length++) {
    for (let i = 0; i + length <= n; i++) {
      const stretch = items.slice(i, i + length);
      const rest = [...items.slice(0, i), ...items.slice(i + length)];
      for (let to = 0; to <= rest.length; to++) {
        if (to === i) continue;
        yield [...rest.slice(0, to), ...stretch, ...rest.slice(to)];
      }
    }
  }
}
