import { type ColumnSet, columnSetOf, compareAberration, unitFirst } from './column-set.ts';

/** Two factors by position. */
export type FactorPair = readonly [number, number];

/** Partial assignments tried before a search gives up, and kept in its first, narrow pass. */
export const mostNodes = 150_000;
const beamWidth = 40;

/** Positions of factors, those in most asked pairs first. */
export function busiestFirst(factors: number, pairs: readonly FactorPair[]): number[] {
  const degree = new Int32Array(factors);
  for (const pair of pairs) for (const factor of pair) degree[factor]!++;
  return Array.from(degree.keys()).sort((a, b) => degree[b]! - degree[a]! || a - b);
}

interface Partial {
  readonly columns: readonly number[];
  readonly dimension: number;
}

export interface LabelledRequest {
  readonly factors: number;
  readonly rank: number;
  readonly pairs: readonly FactorPair[];
  readonly resolution: 3 | 4;
}

/**
 * Gives columns to factors one by one, busiest first, so that no sum of an asked pair meets a column
 * or the sum of another pair. Its state is its answer so far: `best`, and `isExhausted` once every
 * assignment was tried or ruled out.
 */
export class LabelledSearch {
  best: ColumnSet | null = null;
  nodes = 0;
  isExhausted = false;
  private bestColumns: readonly number[] = [];
  private readonly order: readonly number[];
  private readonly asked: readonly (readonly boolean[])[];
  private readonly askedFactors: number;
  private readonly factors: number;
  private readonly rank: number;
  private readonly resolution: 3 | 4;

  constructor({ factors, rank, pairs, resolution }: LabelledRequest) {
    this.factors = factors;
    this.rank = rank;
    this.resolution = resolution;
    this.order = busiestFirst(factors, pairs);
    this.askedFactors = new Set(pairs.flat()).size;
    const place = new Map(this.order.map((factor, i) => [factor, i]));
    const asked = Array.from({ length: factors }, () => new Array<boolean>(factors).fill(false));
    for (const [a, b] of pairs) {
      asked[place.get(a)!]![place.get(b)!] = true;
      asked[place.get(b)!]![place.get(a)!] = true;
    }
    this.asked = asked;
  }

  run(): void {
    this.runBeam();
    this.isExhausted = this.deepen({ columns: [], dimension: 0 });
  }

  /** The most promising partial answers only: quick, proves nothing. */
  runBeam(): void {
    let level: Partial[] = [{ columns: [], dimension: 0 }];
    for (let depth = 0; depth < this.factors; depth++) {
      const next = new Map<string, { partial: Partial; cost: number }>();
      for (const partial of level) {
        for (const vector of this.choices(partial)) {
          const grown = grow(partial, vector);
          const sorted = [...grown.columns].sort((a, b) => a - b).join(',');
          if (!next.has(sorted)) next.set(sorted, { partial: grown, cost: shortWordCost(grown) });
        }
      }
      level = [...next.values()]
        .sort((a, b) => a.cost - b.cost)
        .slice(0, beamWidth)
        .map(({ partial }) => partial);
    }
    for (const { columns } of level) this.consider(columns);
  }

  columnsByFactor(): number[] {
    const out = new Array<number>(this.factors).fill(0);
    for (const [i, factor] of this.order.entries()) out[factor] = this.bestColumns[i]!;
    return out;
  }

  /** Depth first; false when the allowance of nodes ran out. */
  private deepen(partial: Partial): boolean {
    if (partial.columns.length === this.factors) {
      this.consider(partial.columns);
      return true;
    }
    for (const vector of this.choices(partial)) {
      if (++this.nodes > mostNodes) return false;
      const grown = grow(partial, vector);
      if (this.best && shortWordCost(grown) > wordCost(this.best)) continue;
      if (!this.deepen(grown)) return false;
    }
    return true;
  }

  private consider(columns: readonly number[]): void {
    const set = columnSetOf(unitFirst(columns), this.rank);
    if (this.best && compareAberration(set, this.best) >= 0) return;
    this.best = set;
    this.bestColumns = columns;
  }

  /**
   * Vectors the next factor may take: the next unit vector, or one in the span so far. Factors that
   * no pair asks for are interchangeable, so theirs fill the space first and then ascend.
   */
  private choices({ columns, dimension }: Partial): number[] {
    const m = columns.length;
    const missing = this.rank - dimension;
    const isFree = m >= this.askedFactors;
    const sums = this.pairSums(columns);
    const isAllowed = (vector: number): boolean => this.isAllowed(columns, vector, sums);
    const next = missing > 0 && isAllowed(1 << dimension) ? [1 << dimension] : [];
    if (isFree && missing > 0) return next;
    const from = isFree && m > this.freeSpanStart(columns) ? columns[m - 1]! + 1 : 1;
    const out: number[] = [];
    if (this.factors - m > missing) {
      for (let vector = from; vector < 1 << dimension; vector++) {
        if (isAllowed(vector)) out.push(vector);
      }
    }
    return [...out, ...next];
  }

  /** Position of the first unasked factor that did not add a dimension. */
  private freeSpanStart(columns: readonly number[]): number {
    let dimension = 0;
    for (const [i, vector] of columns.entries()) {
      const isNew = vector === 1 << dimension;
      if (isNew) dimension++;
      else if (i >= this.askedFactors) return i;
    }
    return columns.length;
  }

  /** 1 at the sum of a pair nobody asked for, 2 at the sum of an asked pair, else 0. */
  private pairSums(columns: readonly number[]): Uint8Array {
    const sums = new Uint8Array(1 << this.rank);
    for (let i = 0; i < columns.length; i++) {
      for (let j = i + 1; j < columns.length; j++) {
        const sum = columns[i]! ^ columns[j]!;
        sums[sum] = Math.max(sums[sum]!, this.asked[i]![j]! ? 2 : 1);
      }
    }
    return sums;
  }

  private isAllowed(columns: readonly number[], vector: number, sums: Uint8Array): boolean {
    const m = columns.length;
    const taken = this.resolution === 4 ? 1 : 2;
    if (columns.includes(vector) || sums[vector]! >= taken) return false;
    for (let i = 0; i < m; i++) {
      const sum = columns[i]! ^ vector;
      if (sums[sum] === 2) return false;
      if (this.asked[i]![m]! && (sums[sum] === 1 || columns.includes(sum))) return false;
    }
    return true;
  }
}

function grow({ columns, dimension }: Partial, vector: number): Partial {
  const isNew = vector === 1 << dimension;
  return { columns: [...columns, vector], dimension: isNew ? dimension + 1 : dimension };
}

/** Words of length 3, then of length 4, as one number: only ever grows as columns are added. */
function shortWordCost({ columns }: Partial): number {
  const m = columns.length;
  const pairs = new Map<number, number>();
  let three = 0;
  let four = 0;
  for (let i = 0; i < m; i++) {
    for (let j = i + 1; j < m; j++) {
      const sum = columns[i]! ^ columns[j]!;
      if (columns.includes(sum, j + 1)) three++;
      const seen = pairs.get(sum) ?? 0;
      four += seen;
      pairs.set(sum, seen + 1);
    }
  }
  // Each word of four is met in three ways of pairing it off.
  return three * 1e6 + four / 3;
}

const wordCost = ({ lengths }: ColumnSet): number => (lengths[3] ?? 0) * 1e6 + (lengths[4] ?? 0);
