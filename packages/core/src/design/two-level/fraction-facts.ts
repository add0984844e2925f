import { type Factor, isNumeric } from '../../factor/factor.ts';
import type { Design, DesignRun } from '../design.ts';
import { bitCount, mostFractionFactors } from './column-set.ts';
import { wordOf } from './letter.ts';

/** A product of factors with the sign it carries: "−ABD" is minus A·B·D. */
export interface SignedWord {
  readonly letters: string;
  readonly factors: readonly string[];
  readonly sign: 1 | -1;
}

/** A letter and the factor it stands for. */
export interface LetteredFactor {
  readonly letter: string;
  readonly factor: string;
}

/** Effects that one contrast estimates together, lowest order first. */
export type AliasChain = readonly SignedWord[];

/**
 * What a two-level design can and cannot tell apart, read off its corner runs (centre and axial
 * runs take no part).
 */
export type FractionFacts =
  | {
      readonly kind: 'regular';
      readonly letters: readonly LetteredFactor[];
      /** Distinct corner runs and how often each is run. */
      readonly distinctRuns: number;
      readonly timesRun: number;
      /** Each generated factor as the product of basic ones, e.g. "E = ABC". */
      readonly generators: readonly string[];
      readonly words: readonly SignedWord[];
      /** Length of the shortest word; null for a full factorial. */
      readonly resolution: number | null;
      /** Number of words of length 3, 4, …, k. */
      readonly wordLengthPattern: readonly number[];
      readonly aliasChains: readonly AliasChain[];
      /** Two-factor interactions that share a chain with no main effect and no other interaction of two. */
      readonly clearInteractions: readonly SignedWord[];
      /** Effects up to the asked order that are constant within every block. */
      readonly confoundedWithBlocks: readonly SignedWord[];
    }
  | {
      readonly kind: 'non-regular';
      readonly letters: readonly LetteredFactor[];
      readonly cornerRuns: number;
      /** Σ (contrast sum / runs)² over products of 1, 2, 3, … k factors. */
      readonly generalisedWordLengthPattern: readonly number[];
      /** Largest |contrast sum| / runs among products of three factors, 0 to 1. */
      readonly largestThreeFactorAlias: number;
    }
  | { readonly kind: 'too-many-factors'; readonly factors: number; readonly most: number }
  | { readonly kind: 'not-two-level'; readonly why: string };

/**
 * Facts of a two-level fraction, found from the runs alone: the sums of all 2^k products come from
 * one fast Walsh–Hadamard transform of the run counts, and a product whose sum is ± the number of
 * runs is a word of the defining relation.
 *
 * @param design - any design; only corner runs are read
 * @param order - highest order of effects in the alias chains, at least 1
 * @source Box, Hunter & Hunter (2005), Statistics for Experimenters, 2nd ed., chapter 6; generalised
 * pattern: Tang & Deng (1999), Annals of Statistics 27:1914–1926 (both from memory, tested by law)
 */
export function fractionFacts(design: Design, { order = 2 } = {}): FractionFacts {
  const { factors } = design;
  const k = factors.length;
  const manyLevels = factors.find((factor) => !isNumeric(factor) && factor.levels.length > 2);
  if (manyLevels) {
    return { kind: 'not-two-level', why: `"${manyLevels.name}" has more than two levels` };
  }
  if (k > mostFractionFactors)
    return { kind: 'too-many-factors', factors: k, most: mostFractionFactors };
  if (design.runs.some(({ kind }) => kind === 'edge' || kind === 'other')) {
    return { kind: 'not-two-level', why: 'some runs stand between the two levels' };
  }
  const corners = design.runs.filter((run) => run.kind === 'corner');
  if (corners.length === 0) return { kind: 'not-two-level', why: 'there are no corner runs' };
  const masks = corners.map((run) => minusMask(run, factors));
  const sums = productSums(masks, k);
  const n = corners.length;
  const letters = factors.map(({ name }, j) => ({ letter: wordOf(1 << j), factor: name }));
  if (!sums.every((sum) => sum === 0 || Math.abs(sum) === n)) {
    return nonRegular(sums, n, letters);
  }
  const word = (mask: number): SignedWord => signedWord(mask, Math.sign(sums[mask]!), factors);
  const masksOfWords = masksUpTo(k, k).filter((mask) => mask !== 0 && sums[mask] !== 0);
  const pattern = new Array<number>(Math.max(0, k - 2)).fill(0);
  for (const mask of masksOfWords) {
    const at = bitCount[mask]! - 3;
    if (at >= 0) pattern[at]!++;
  }
  const distinctRuns = 2 ** k / (masksOfWords.length + 1);
  const chains = aliasChains(sums, factors, order);
  return {
    kind: 'regular',
    letters,
    distinctRuns,
    timesRun: n / distinctRuns,
    generators: generatorsOf(sums, k),
    words: masksOfWords.map(word),
    resolution: masksOfWords[0] === undefined ? null : bitCount[masksOfWords[0]]!,
    wordLengthPattern: pattern,
    aliasChains: chains,
    clearInteractions: clearInteractionsOf(sums, factors),
    confoundedWithBlocks: confoundedWithBlocks(corners, masks, factors, order),
  };
}

/** Bit j is set when the run has factor j at minus. */
function minusMask(run: DesignRun, factors: readonly Factor[]): number {
  let mask = 0;
  for (const [j, factor] of factors.entries()) {
    const value = run.coded[factor.name];
    const isMinus = isNumeric(factor) ? Number(value) < 0 : value === factor.levels[1];
    if (isMinus) mask |= 1 << j;
  }
  return mask;
}

/** Sum over the runs of every product of factors, index a mask, shape (2^k). */
function productSums(minusMasks: readonly number[], k: number): Int32Array {
  const sums = new Int32Array(1 << k);
  for (const mask of minusMasks) sums[mask]!++;
  for (let half = 1; half < sums.length; half *= 2) {
    for (let start = 0; start < sums.length; start += 2 * half) {
      for (let i = start; i < start + half; i++) {
        const a = sums[i]!;
        const b = sums[i + half]!;
        sums[i] = a + b;
        sums[i + half] = a - b;
      }
    }
  }
  return sums;
}

/** Masks of at most `most` of k factors, by number of factors and then in the order of the letters. */
function masksUpTo(most: number, k: number): number[] {
  const masks: number[] = [];
  const extend = (mask: number, from: number, missing: number): void => {
    if (missing === 0) masks.push(mask);
    else for (let j = from; j <= k - missing; j++) extend(mask | (1 << j), j + 1, missing - 1);
  };
  for (let size = 0; size <= Math.min(most, k); size++) extend(0, 0, size);
  return masks;
}

function signedWord(mask: number, sign: number, factors: readonly Factor[]): SignedWord {
  return {
    letters: wordOf(mask),
    factors: factors.filter((_, j) => (mask >> j) & 1).map(({ name }) => name),
    sign: sign < 0 ? -1 : 1,
  };
}

/** Basic factors are taken in order; each other factor is the one word it makes with them. */
function generatorsOf(sums: Int32Array, k: number): string[] {
  const generators: string[] = [];
  let basic = 0;
  for (let j = 0; j < k; j++) {
    let found: number | null = null;
    for (let sub = basic; found === null; sub = (sub - 1) & basic) {
      if (sums[sub | (1 << j)] !== 0) found = sub;
      if (sub === 0) break;
    }
    if (found === null) basic |= 1 << j;
    else {
      const sign = sums[found | (1 << j)]! < 0 ? '−' : '';
      generators.push(`${wordOf(1 << j)} = ${sign}${found === 0 ? 'I' : wordOf(found)}`);
    }
  }
  return generators;
}

/** Chains of effects up to `order`, each led by its lowest effect. */
function aliasChains(sums: Int32Array, factors: readonly Factor[], order: number): AliasChain[] {
  const k = factors.length;
  const effects = masksUpTo(order, k).slice(1);
  const chains: { readonly lead: number; readonly words: SignedWord[] }[] = [];
  for (const mask of effects) {
    if (sums[mask] !== 0) continue; // aliased with the mean
    const chain = chains.find(({ lead }) => sums[lead ^ mask] !== 0);
    const sign = chain ? Math.sign(sums[chain.lead ^ mask]!) : 1;
    const word = signedWord(mask, sign, factors);
    if (chain) chain.words.push(word);
    else chains.push({ lead: mask, words: [word] });
  }
  return chains.map(({ words }) => words);
}

function clearInteractionsOf(sums: Int32Array, factors: readonly Factor[]): SignedWord[] {
  const k = factors.length;
  const short = masksUpTo(4, k).slice(1);
  const words = short.filter((mask) => sums[mask] !== 0);
  const clear: SignedWord[] = [];
  for (const pair of short) {
    if (bitCount[pair] !== 2) continue;
    const isAliased = words.some((word) => bitCount[word]! <= 2 || (word & pair) === pair);
    if (!isAliased) clear.push(signedWord(pair, 1, factors));
  }
  return clear;
}

function confoundedWithBlocks(
  corners: readonly DesignRun[],
  masks: readonly number[],
  factors: readonly Factor[],
  order: number,
): SignedWord[] {
  const blocks = new Set(corners.map(({ block }) => block));
  if (blocks.size < 2) return [];
  const effects = masksUpTo(Math.max(order, 3), factors.length).slice(1);
  const confounded = effects.filter((effect) => {
    const parityOf = new Map<number, number>();
    return masks.every((mask, i) => {
      const parity = bitCount[mask & effect]! & 1;
      const { block } = corners[i]!;
      const first = parityOf.get(block) ?? parity;
      parityOf.set(block, first);
      return first === parity;
    });
  });
  return confounded.map((mask) => signedWord(mask, 1, factors));
}

function nonRegular(
  sums: Int32Array,
  n: number,
  letters: readonly LetteredFactor[],
): FractionFacts {
  const k = letters.length;
  const pattern = new Array<number>(k).fill(0);
  let largest = 0;
  for (let mask = 1; mask < sums.length; mask++) {
    const share = Math.abs(sums[mask]!) / n;
    pattern[bitCount[mask]! - 1]! += share * share;
    if (bitCount[mask] === 3) largest = Math.max(largest, share);
  }
  return {
    kind: 'non-regular',
    letters,
    cornerRuns: n,
    generalisedWordLengthPattern: pattern,
    largestThreeFactorAlias: largest,
  };
}
