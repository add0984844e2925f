import { bitCount, type ColumnSet, letterCounts } from './column-set.ts';

/**
 * A colour a column that any relabelling of factors and any change of basis leaves alone: columns
 * that play different parts in the words get different colours (barring a hash collision, which
 * costs time and never truth, because `isIsomorphic` decides).
 *
 * @returns 32-bit colours, shape (k)
 */
export function columnColours(set: ColumnSet): Int32Array {
  const k = set.columns.length;
  const counts = letterCounts(set);
  let colours = new Int32Array(k);
  for (let j = 0; j < k; j++) {
    let hash = 17;
    for (let length = 0; length <= k; length++) hash = mixed(hash, counts[j * (k + 1) + length]!);
    colours[j] = hash;
  }
  for (let round = 0; round < 2; round++) colours = refined(set, colours);
  return colours;
}

function refined({ columns, words }: ColumnSet, colours: Int32Array): Int32Array<ArrayBuffer> {
  const k = columns.length;
  const sums = new Int32Array(k);
  for (let i = 1; i < words.length; i++) {
    const word = words[i]!;
    let sum = 0;
    for (let rest = word; rest !== 0; rest &= rest - 1) {
      sum = (sum + colours[31 - Math.clz32(rest & -rest)]!) | 0;
    }
    const hash = mixed(sum, bitCount[word]!);
    for (let rest = word; rest !== 0; rest &= rest - 1) {
      const j = 31 - Math.clz32(rest & -rest);
      sums[j] = (sums[j]! + hash) | 0;
    }
  }
  const out = new Int32Array(k);
  for (let j = 0; j < k; j++) out[j] = mixed(colours[j]!, sums[j]!);
  return out;
}

/** One step of a 32-bit integer hash. */
function mixed(hash: number, value: number): number {
  let h = Math.imul(hash ^ Math.imul(value, 0x9e3779b1), 0x85ebca6b);
  h ^= h >>> 13;
  h = Math.imul(h, 0xc2b2ae35);
  return (h ^ (h >>> 16)) | 0;
}

/** A key that isomorphic sets share. */
export function colourKey(colours: Int32Array): string {
  return Int32Array.from(colours).sort().join(',');
}

/** A set with its colours, so that they are computed once. */
export interface ColouredSet {
  readonly set: ColumnSet;
  readonly colours: Int32Array;
}

/**
 * Whether one set becomes the other by relabelling factors and changing the basis.
 *
 * A basis of `a` is sent to columns of `b` one vector at a time; every column of `a` in the span so
 * far must land on a column of `b` of its own colour. The search is exact.
 */
export function isIsomorphic(a: ColouredSet, b: ColouredSet): boolean {
  const { rank, columns } = b.set;
  const steps = basisSteps(a);
  const colourAt = new Map<number, number>();
  for (const [j, vector] of columns.entries()) colourAt.set(vector, b.colours[j]!);
  const images = new Int32Array(1 << rank); // image of every combination of the basis so far
  const inSpan = new Uint8Array(1 << rank);
  inSpan[0] = 1;

  const place = (depth: number): boolean => {
    if (depth === rank) return true;
    const { colour, closes } = steps[depth]!;
    const size = 1 << depth;
    for (const [j, vector] of columns.entries()) {
      if (b.colours[j] !== colour || inSpan[vector] === 1) continue;
      for (let m = 0; m < size; m++) images[size + m] = images[m]! ^ vector;
      if (!closes.every((step) => colourAt.get(images[step.combination]!) === step.colour))
        continue;
      for (let m = 0; m < size; m++) inSpan[images[size + m]!] = 1;
      if (place(depth + 1)) return true;
      for (let m = 0; m < size; m++) inSpan[images[m]! ^ vector] = 0;
    }
    return false;
  };
  return place(0);
}

interface BasisStep {
  readonly colour: number;
  /** Columns that enter the span with this basis vector, as combinations of basis positions. */
  readonly closes: readonly { readonly combination: number; readonly colour: number }[];
}

/** A basis among the columns that closes as many words as early as it can. */
function basisSteps({ set, colours }: ColouredSet): BasisStep[] {
  const { rank, columns } = set;
  const combinationOf = new Map<number, number>([[0, 0]]);
  const steps: BasisStep[] = [];
  const rarity = new Map<number, number>();
  for (const colour of colours) rarity.set(colour, (rarity.get(colour) ?? 0) + 1);
  for (let depth = 0; depth < rank; depth++) {
    let best = { j: -1, closed: -1, rare: 0 };
    for (const [j, vector] of columns.entries()) {
      if (combinationOf.has(vector)) continue;
      const closed = columns.filter((c) => combinationOf.has(c ^ vector)).length;
      const rare = -rarity.get(colours[j]!)!;
      if (closed > best.closed || (closed === best.closed && rare > best.rare)) {
        best = { j, closed, rare };
      }
    }
    const vector = columns[best.j]!;
    for (const [element, combination] of [...combinationOf]) {
      combinationOf.set(element ^ vector, combination | (1 << depth));
    }
    const closes = columns.flatMap((c, j) => {
      const combination = combinationOf.get(c);
      if (combination === undefined || combination >> depth !== 1 || j === best.j) return [];
      return [{ combination, colour: colours[j]! }];
    });
    steps.push({ colour: colours[best.j]!, closes });
  }
  return steps;
}
