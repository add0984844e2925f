import { bitCount, type ColumnSet, mostFractionRank, resolutionOf } from './column-set.ts';
import { busiestFirst, type FactorPair, LabelledSearch, mostNodes } from './labelled-search.ts';
import {
  type MinimumAberration,
  minimumAberration,
  type SearchProof,
} from './minimum-aberration.ts';

/** The outcome of asking for interactions that share a chain with no main effect and no other of two. */
export type ClearFraction =
  | {
      readonly kind: 'met';
      /** One vector a factor, in the order of the factors. */
      readonly columns: readonly number[];
      /** `proven`: no fraction of this size has less aberration, with or without the request. */
      readonly proof: SearchProof['kind'];
    }
  | { readonly kind: 'impossible'; readonly why: string; readonly enoughRuns: number | null }
  | { readonly kind: 'not-found'; readonly examined: number; readonly enoughRuns: number | null };

/**
 * A fraction of k factors in 2^r runs that keeps the asked two-factor interactions clear, with as
 * little aberration as the search finds.
 *
 * First the fractions of least aberration are tried under every assignment of factors to columns.
 * Failing that, columns are given to the factors themselves, those asked for first, so that no sum
 * of an asked pair meets a column or the sum of another pair. A search that runs to its end without
 * an answer proves that there is none.
 *
 * @param factors - k, up to 15
 * @param rank - r, 2 to 7
 * @param pairs - asked interactions, positions from 0
 * @param resolution - 4 keeps every main effect clear of interactions as well; 3 lets them mix
 */
export function fractionWithClear(
  factors: number,
  rank: number,
  pairs: readonly FactorPair[],
  resolution: 3 | 4 = 3,
): ClearFraction {
  const room = (1 << rank) - 1;
  if (factors + pairs.length > room) {
    return {
      kind: 'impossible',
      why: `${factors} main effects and ${pairs.length} interactions need ${factors + pairs.length} contrasts, and ${1 << rank} runs give ${room}`,
      enoughRuns: enoughRuns(factors, rank, pairs, resolution),
    };
  }
  const least = minimumAberration(factors, rank);
  for (const set of tiesOfResolution(least, resolution)) {
    const columns = embedding(set, pairs);
    if (columns) return { kind: 'met', columns, proof: least.proof.kind };
  }
  const search = new LabelledSearch({ factors, rank, pairs, resolution });
  search.run();
  if (search.best) {
    return { kind: 'met', columns: search.columnsByFactor(), proof: 'best-found' };
  }
  const enough = enoughRuns(factors, rank, pairs, resolution);
  if (!search.isExhausted) {
    return { kind: 'not-found', examined: search.nodes, enoughRuns: enough };
  }
  return {
    kind: 'impossible',
    why: `no regular fraction of ${factors} factors in ${1 << rank} runs keeps them clear (all were examined)`,
    enoughRuns: enough,
  };
}

const tiesOfResolution = (least: MinimumAberration, resolution: number): ColumnSet[] =>
  least.ties.filter((set) => (resolutionOf(set) ?? Infinity) >= resolution);

/** The smallest larger run number in reach that keeps the pairs clear; null when none is. */
function enoughRuns(
  factors: number,
  rank: number,
  pairs: readonly FactorPair[],
  resolution: 3 | 4,
): number | null {
  for (let next = rank + 1; next <= Math.min(mostFractionRank, factors); next++) {
    if (factors + pairs.length > (1 << next) - 1) continue;
    const least = minimumAberration(factors, next);
    if (tiesOfResolution(least, resolution).some((set) => embedding(set, pairs))) return 1 << next;
    const search = new LabelledSearch({ factors, rank: next, pairs, resolution });
    search.runBeam();
    if (search.best) return 1 << next;
  }
  return null;
}

/** Columns in the order of the factors such that every asked pair is clear; null when none fit. */
function embedding(set: ColumnSet, pairs: readonly FactorPair[]): number[] | null {
  const k = set.columns.length;
  const isClear = clearTable(set);
  const neighbours = Array.from({ length: k }, (): number[] => []);
  for (const [a, b] of pairs) {
    neighbours[a]!.push(b);
    neighbours[b]!.push(a);
  }
  const order = busiestFirst(k, pairs);
  const at = new Int32Array(k).fill(-1);
  let taken = 0;
  let steps = 0;
  const place = (depth: number): boolean => {
    if (depth === k) return true;
    const factor = order[depth]!;
    for (let column = 0; column < k; column++) {
      if ((taken >> column) & 1 || ++steps > mostNodes) continue;
      const fits = neighbours[factor]!.every(
        (other) => at[other]! < 0 || isClear[column * k + at[other]!] === 1,
      );
      if (!fits) continue;
      at[factor] = column;
      taken |= 1 << column;
      if (place(depth + 1)) return true;
      taken &= ~(1 << column);
      at[factor] = -1;
    }
    return false;
  };
  return place(0) ? Array.from(at, (column) => set.columns[column]!) : null;
}

/** 1 where the interaction of two columns stands in no word of length 3 or 4, shape (k, k). */
function clearTable({ columns, words }: ColumnSet): Uint8Array {
  const k = columns.length;
  const table = new Uint8Array(k * k).fill(1);
  for (const word of words) {
    const length = bitCount[word]!;
    if (length === 0 || length > 4) continue;
    for (let i = 0; i < k; i++) {
      for (let j = 0; j < k; j++) {
        if ((word >> i) & 1 && (word >> j) & 1) table[i * k + j] = 0;
      }
    }
  }
  return table;
}
