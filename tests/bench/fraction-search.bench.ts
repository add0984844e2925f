import { minimumAberration, wordLengthPattern } from '@strandwise/core';
import { bench, describe } from 'vitest';

/**
 * The straightforward search: every set of generators, words counted one by one, shortest first.
 * It serves as the slow version at a size it can finish; at 15 factors in 64 runs it would have to
 * look at C(57, 9) ≈ 9·10⁹ sets.
 */
function everyGeneratorSet(factors: number, rank: number): number[] {
  const candidates: number[] = [];
  for (let vector = 3; vector < 1 << rank; vector++) {
    if ((vector & (vector - 1)) !== 0) candidates.push(vector);
  }
  const added = factors - rank;
  let best: number[] | null = null;
  const patternOf = (chosen: readonly number[]): number[] => {
    const pattern = new Array<number>(factors + 1).fill(0);
    for (let subset = 1; subset < 1 << added; subset++) {
      let sum = 0;
      let length = 0;
      for (let i = 0; i < added; i++) {
        if (!((subset >> i) & 1)) continue;
        sum ^= chosen[i]!;
        length++;
      }
      for (let rest = sum; rest !== 0; rest &= rest - 1) length++;
      pattern[length]!++;
    }
    return pattern.slice(3);
  };
  const choose = (from: number, chosen: readonly number[]): void => {
    if (chosen.length === added) {
      const pattern = patternOf(chosen);
      const at = best === null ? -1 : pattern.findIndex((value, i) => value !== best![i]);
      if (best === null || (at >= 0 && pattern[at]! < best[at]!)) best = pattern;
      return;
    }
    for (let i = from; i < candidates.length; i++) choose(i + 1, [...chosen, candidates[i]!]);
  };
  choose(0, []);
  return best!;
}

function assertSame(factors: number, rank: number): void {
  const slow = everyGeneratorSet(factors, rank).join();
  const fast = wordLengthPattern(minimumAberration(factors, rank).best).join();
  if (slow !== fast) throw new Error(`2^${factors} in ${2 ** rank}: ${slow} against ${fast}`);
}
assertSame(11, 5);

const options = { iterations: 15, time: 0, warmupIterations: 2, warmupTime: 0 };

describe('least aberration, 11 factors in 32 runs', () => {
  bench('bounded growth with isomorphism classes', () => void minimumAberration(11, 5), options);
  bench('every generator set', () => void everyGeneratorSet(11, 5), options);
});

describe('least aberration, sizes only the bounded growth can finish', () => {
  bench('15 factors in 64 runs, 2^(15−9)', () => void minimumAberration(15, 6), options);
  bench('15 factors in 128 runs, 2^(15−8)', () => void minimumAberration(15, 7), options);
  bench('11 factors in 128 runs, 2^(11−4)', () => void minimumAberration(11, 7), options);
});
