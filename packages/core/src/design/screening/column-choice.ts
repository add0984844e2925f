import type { Dense } from '../../linear/dense.ts';

/** Columns of a two-level orthogonal array, and how far they mix effects. */
export interface ColumnChoice {
  /** Ascending, from 0. */
  readonly columns: readonly number[];
  /**
   * Mean squared correlation between a main effect and a two-factor interaction of two other
   * factors; 0 when every main effect is clear of them. 0 for fewer than three columns.
   */
  readonly leak: number;
  /** The same for the first columns of the array. */
  readonly leakOfFirst: number;
}

/** Smaller gains are rounding of sums of squares of order 1. */
const SAME = 1e-9;

/**
 * The `count` columns whose main effects and two-factor interactions are mixed least.
 *
 * The sum over triples of columns of (Σ product / N)² is the number of generalised words of length
 * three; divided by the number of triples it is the mean squared correlation between a main effect
 * and an interaction of two others. From every pair that holds the first column the set is grown by
 * the column that adds least, then columns are exchanged while that helps. The first `count` columns
 * stay when nothing better is found, so the choice is the same every time.
 *
 * @param array - entries ±1, orthogonal balanced columns, shape (N, m)
 * @param count - at most m
 * @source generalised words: Tang & Deng (1999), Ann. Statist. 27:1914–1926 (from memory)
 */
export function columnChoice(array: Dense, count: number): ColumnChoice {
  const { cols } = array;
  const first = Array.from({ length: count }, (_, j) => j);
  const triples = (count * (count - 1) * (count - 2)) / 6;
  if (triples === 0) return { columns: first, leak: 0, leakOfFirst: 0 };
  const squares = tripleSquares(array);
  const ofFirst = words(first, squares, cols);
  let best = first;
  let fewest = ofFirst;
  for (let second = 1; second < cols && fewest > SAME && count < cols; second++) {
    const found = exchanged(grown(second, count, squares, cols), squares, cols);
    const value = words(found, squares, cols);
    if (value < fewest - SAME) [best, fewest] = [found, value];
  }
  const columns = [...best].sort((a, b) => a - b);
  return { columns, leak: fewest / triples, leakOfFirst: ofFirst / triples };
}

/** (Σ product / N)² of every triple of different columns, shape (m, m, m), symmetric. */
function tripleSquares({ data, rows, cols }: Dense): Float64Array {
  const out = new Float64Array(cols ** 3);
  const pair = new Float64Array(rows);
  for (let a = 0; a < cols; a++) {
    for (let b = a + 1; b < cols; b++) {
      for (let i = 0; i < rows; i++) pair[i] = data[i * cols + a]! * data[i * cols + b]!;
      for (let c = b + 1; c < cols; c++) {
        let sum = 0;
        for (let i = 0; i < rows; i++) sum += pair[i]! * data[i * cols + c]!;
        const square = (sum / rows) ** 2;
        for (const [x, y, z] of [
          [a, b, c],
          [b, c, a],
          [c, a, b],
        ] as const) {
          out[(x * cols + y) * cols + z] = square;
          out[(x * cols + z) * cols + y] = square;
        }
      }
    }
  }
  return out;
}

/** What column x adds to a set: the squares of its triples with two members. */
function addition(x: number, set: readonly number[], squares: Float64Array, cols: number): number {
  let sum = 0;
  for (let i = 1; i < set.length; i++) {
    const row = (x * cols + set[i]!) * cols;
    for (let j = 0; j < i; j++) sum += squares[row + set[j]!]!;
  }
  return sum;
}

/** Generalised words of length three of a set of columns. */
const words = (set: readonly number[], squares: Float64Array, cols: number): number =>
  set.reduce((sum, x) => sum + addition(x, set, squares, cols), 0) / 3;

function grown(second: number, count: number, squares: Float64Array, cols: number): number[] {
  const set = [0, second];
  while (set.length < count) set.push(cheapest(set, squares, cols));
  return set;
}

function cheapest(set: readonly number[], squares: Float64Array, cols: number): number {
  const isIn = new Set(set);
  let best = -1;
  let least = Number.POSITIVE_INFINITY;
  for (let x = 0; x < cols; x++) {
    if (isIn.has(x)) continue;
    const value = addition(x, set, squares, cols);
    if (value < least - SAME) [best, least] = [x, value];
  }
  return best;
}

/** Takes one column out and the cheapest in, for as long as the set gets better. */
function exchanged(start: readonly number[], squares: Float64Array, cols: number): number[] {
  let set = [...start];
  for (let at = 0, kept = 0; kept < set.length; at = (at + 1) % set.length) {
    const others = set.filter((_, i) => i !== at);
    const candidate = cheapest(others, squares, cols);
    const gain =
      addition(set[at]!, others, squares, cols) - addition(candidate, others, squares, cols);
    if (gain > SAME) {
      set = [...others, candidate];
      kept = 0;
    } else kept++;
  }
  return set;
}
