import { DomainError } from '../../error/domain-error.ts';
import {
  bitCount,
  type ColumnSet,
  compareAberration,
  grownBy,
  letterCounts,
  mostFractionFactors,
  mostFractionRank,
  resolutionOf,
  unitColumns,
} from './column-set.ts';
import { type ColouredSet, colourKey, columnColours, isIsomorphic } from './isomorphism.ts';

/** What the search can promise about its answer. */
export type SearchProof =
  /** Every fraction of this size was examined or bounded away. */
  | { readonly kind: 'proven'; readonly examined: number }
  /** The bounded search outgrew its room; a better fraction may exist. */
  | { readonly kind: 'best-found'; readonly examined: number };

/** A fraction of least aberration, and others that tie with it. */
export interface MinimumAberration {
  readonly best: ColumnSet;
  /** Non-isomorphic fractions with the same word-length pattern, `best` first. */
  readonly ties: readonly ColumnSet[];
  readonly proof: SearchProof;
}

const beamWidth = 24;
const mostKept = 40_000;

/**
 * Minimum-aberration regular fraction of k factors in 2^r runs, by search.
 *
 * A narrow beam first finds a good fraction with resolution R and a words of that length. Then all
 * fractions that are as good are grown column by column. A word of length R holds R of the k
 * factors, so some factor stands in at least R·a/k of the a words, and dropping it leaves at most
 * a(1 − R/k): that bounds every smaller set, and a column may be added only where it becomes such a
 * most-used factor. Isomorphic sets are merged by an exact test. What survives at k contains every
 * fraction of least aberration, so the answer is proven unless a level outgrows `mostKept` sets.
 *
 * @param factors - k, from r to 15
 * @param rank - r, from 2 to 7
 * @throws {DomainError} `fraction_out_of_range` when the numbers lie outside what is searched
 * @source Fries & Hunter (1980), Technometrics 22:601–608, for the criterion; the bound as above
 */
export function minimumAberration(factors: number, rank: number): MinimumAberration {
  assertSearchable(factors, rank);
  if (factors === rank) {
    const best = unitColumns(rank);
    return { best, ties: [best], proof: { kind: 'proven', examined: 1 } };
  }
  const found = beam(factors, rank);
  const length = resolutionOf(found)!;
  const limits = wordLimits(factors, rank, { length, count: found.lengths[length]! });
  let level: ColouredSet[] = [coloured(unitColumns(rank))];
  let examined = 0;
  let isWhole = true;
  for (let k = rank + 1; k <= factors; k++) {
    const pool = new IsomorphismClasses();
    for (const { set } of level) {
      examined += growInto(pool, set, { length, most: limits[k]!, onlyMostUsed: true });
    }
    level = pool.all();
    if (level.length > mostKept) {
      isWhole = false;
      level = level.sort((a, b) => compareAberration(a.set, b.set)).slice(0, mostKept);
    }
  }
  const sets = level.map(({ set }) => set).sort(compareAberration);
  const best = isWhole || (sets[0] && compareAberration(sets[0], found) <= 0) ? sets[0]! : found;
  const ties = sets.filter((set) => compareAberration(set, best) === 0);
  return { best, ties, proof: { kind: isWhole ? 'proven' : 'best-found', examined } };
}

function assertSearchable(factors: number, rank: number): void {
  const isInside =
    Number.isInteger(factors) &&
    Number.isInteger(rank) &&
    rank >= 2 &&
    rank <= mostFractionRank &&
    factors >= rank &&
    factors <= mostFractionFactors &&
    factors < 1 << rank;
  if (isInside) return;
  throw new DomainError(
    'fraction_out_of_range',
    `minimumAberration: a fraction must have at most ${mostFractionFactors} factors, at most ${1 << mostFractionRank} runs, more runs than factors and no more runs than the full factorial; got ${factors} factors in ${2 ** rank} runs. Change the number of runs.`,
    { factors, rank },
  );
}

/** Most words of the leading length that an ancestor with k' factors may hold, index k'. */
function wordLimits(
  factors: number,
  rank: number,
  lead: { readonly length: number; readonly count: number },
): Int32Array {
  const limits = new Int32Array(factors + 1);
  limits[factors] = lead.count;
  for (let k = factors; k > rank; k--) {
    limits[k - 1] = Math.max(0, Math.floor((limits[k]! * (k - lead.length)) / k));
  }
  return limits;
}

interface GrowthRule {
  /** No word shorter than this… */
  readonly length: number;
  /** …and at most so many of this length. */
  readonly most: number;
  /** Keep only sets whose newest factor is a most-used one. */
  readonly onlyMostUsed: boolean;
}

/** Adds to `pool` every set with one column more that obeys the rule; returns how many were tried. */
function growInto(pool: IsomorphismClasses, set: ColumnSet, rule: GrowthRule): number {
  const taken = new Set(set.columns);
  const base = set.lengths[rule.length] ?? 0;
  let tried = 0;
  for (let vector = 3; vector < 1 << set.rank; vector++) {
    if (taken.has(vector)) continue;
    tried++;
    const added = wordsAdded(set, vector, rule.length);
    if (added < 0 || base + added > rule.most) continue;
    const child = grownBy(set, vector);
    if (rule.onlyMostUsed && !isNewestMostUsed(child)) continue;
    pool.add(child);
  }
  return tried;
}

/** Words of `length` that a new column brings, or −1 when it brings a shorter one. */
function wordsAdded({ words }: ColumnSet, vector: number, length: number): number {
  let count = 0;
  for (let i = 0; i < words.length; i++) {
    const short = bitCount[words[i]! ^ vector]! + 1;
    if (short < length) return -1;
    if (short === length) count++;
  }
  return count;
}

/** Whether no factor stands in more short words than the newest, comparing length by length. */
function isNewestMostUsed(set: ColumnSet): boolean {
  const k = set.columns.length;
  const counts = letterCounts(set);
  const newest = (k - 1) * (k + 1);
  for (let j = 0; j < k - 1; j++) {
    for (let length = 3; length <= k; length++) {
      const difference = counts[j * (k + 1) + length]! - counts[newest + length]!;
      if (difference > 0) return false;
      if (difference < 0) break;
    }
  }
  return true;
}

/** A good fraction, quickly: the best few sets of each size, grown by every column. */
function beam(factors: number, rank: number): ColumnSet {
  let level: ColumnSet[] = [unitColumns(rank)];
  for (let k = rank + 1; k <= factors; k++) {
    const best = new Map<string, ColumnSet>();
    for (const set of level) {
      for (let vector = 3; vector < 1 << rank; vector++) {
        if (set.columns.includes(vector)) continue;
        const child = grownBy(set, vector);
        const key = child.lengths.join(',');
        if (!best.has(key)) best.set(key, child);
      }
    }
    level = [...best.values()].sort(compareAberration).slice(0, beamWidth);
  }
  return level[0]!;
}

const coloured = (set: ColumnSet): ColouredSet => ({ set, colours: columnColours(set) });

/** Sets of one size, one of each isomorphism class. */
class IsomorphismClasses {
  private readonly buckets = new Map<string, ColouredSet[]>();

  add(set: ColumnSet): void {
    const candidate = coloured(set);
    const key = colourKey(candidate.colours);
    const bucket = this.buckets.get(key);
    if (!bucket) this.buckets.set(key, [candidate]);
    else if (!bucket.some((known) => isIsomorphic(known, candidate))) bucket.push(candidate);
  }

  all(): ColouredSet[] {
    return [...this.buckets.values()].flat();
  }
}
