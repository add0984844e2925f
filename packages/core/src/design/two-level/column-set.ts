/**
 * A regular two-level fraction seen as points of a binary vector space.
 *
 * A fraction of n = 2^r runs gives every factor a column, a non-zero vector of r bits, and a word of
 * the defining relation is a set of columns that sum (exclusive or) to zero. The first r columns
 * are the unit vectors, so a column's bits are also the mask of the basic factors it is made of.
 */
export interface ColumnSet {
  /** r: binary logarithm of the number of runs. */
  readonly rank: number;
  /** One vector a factor, shape (k). */
  readonly columns: readonly number[];
  /** All words as masks over the k factors, the empty word first; 2^(k − r) of them. */
  readonly words: Uint16Array;
  /** Number of words of each length, index 0..k. */
  readonly lengths: Int32Array;
}

/** Most factors a column set may hold: words are 16-bit masks and one bit is kept free. */
export const mostFractionFactors = 15;
/** Most runs of a regular fraction, as a binary logarithm. */
export const mostFractionRank = 7;

/** Number of ones of every 16-bit mask. */
export const bitCount: Uint8Array = (() => {
  const table = new Uint8Array(1 << 16);
  for (let mask = 1; mask < table.length; mask++) table[mask] = table[mask >> 1]! + (mask & 1);
  return table;
})();

/** The full factorial of r factors: unit vectors, no words. */
export function unitColumns(rank: number): ColumnSet {
  const lengths = new Int32Array(rank + 1);
  lengths[0] = 1;
  const columns = Array.from({ length: rank }, (_, i) => 1 << i);
  return { rank, columns, words: new Uint16Array(1), lengths };
}

/**
 * The set with one column more. Each old word w stays, and w + (new column written in unit
 * columns) + (the new factor itself) is a word too, so the words double.
 */
export function grownBy({ rank, columns, words, lengths }: ColumnSet, vector: number): ColumnSet {
  const k = columns.length;
  const next = new Uint16Array(2 * words.length);
  const counts = new Int32Array(k + 2);
  counts.set(lengths);
  next.set(words);
  const word = vector | (1 << k);
  for (let i = 0; i < words.length; i++) {
    const mask = words[i]! ^ word;
    next[words.length + i] = mask;
    counts[bitCount[mask]!]!++;
  }
  return { rank, columns: [...columns, vector], words: next, lengths: counts };
}

/** A set from its columns, of which the first r must be the unit vectors. */
export function columnSetOf(columns: readonly number[], rank: number): ColumnSet {
  let set = unitColumns(rank);
  for (const vector of columns.slice(rank)) set = grownBy(set, vector);
  return set;
}

/** Unit vectors in ascending order ahead of the others, as `columnSetOf` wants its columns. */
export function unitFirst(columns: readonly number[]): number[] {
  const isUnit = (vector: number): boolean => (vector & (vector - 1)) === 0;
  const units = columns.filter(isUnit).sort((a, b) => a - b);
  return [...units, ...columns.filter((vector) => !isUnit(vector))];
}

/** Word-length pattern from length 3: [A3, A4, …, Ak]. */
export function wordLengthPattern({ lengths }: ColumnSet): number[] {
  return Array.from(lengths.subarray(3));
}

/** Length of the shortest word, or null when there is none (a full factorial). */
export function resolutionOf({ lengths }: ColumnSet): number | null {
  for (let length = 1; length < lengths.length; length++) if (lengths[length]! > 0) return length;
  return null;
}

/**
 * Order by aberration: negative when `a` has fewer words at the first length where they differ.
 * @source Fries & Hunter (1980), Minimum aberration 2^(k−p) designs, Technometrics 22:601–608
 */
export function compareAberration(a: ColumnSet, b: ColumnSet): number {
  for (let length = 1; length < a.lengths.length; length++) {
    const difference = a.lengths[length]! - b.lengths[length]!;
    if (difference !== 0) return difference;
  }
  return 0;
}

/** Number of words of each length that hold each factor, shape (k, k + 1), row-major. */
export function letterCounts({ columns, words }: ColumnSet): Int32Array {
  const k = columns.length;
  const counts = new Int32Array(k * (k + 1));
  for (let i = 1; i < words.length; i++) {
    const length = bitCount[words[i]!]!;
    for (let rest = words[i]!; rest !== 0; rest &= rest - 1) {
      counts[(31 - Math.clz32(rest & -rest)) * (k + 1) + length]!++;
    }
  }
  return counts;
}
