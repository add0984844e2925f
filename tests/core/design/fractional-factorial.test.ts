import {
  type Design,
  DomainError,
  designOf,
  fractionFacts,
  fractionWithClear,
  minimumAberration,
  resolutionOf,
  wordLengthPattern,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { expectedOf } from '../../reference/dataset.ts';
import { codedRows, sampleFactors } from './sample-factors.ts';

const fraction = (k: number, options: Readonly<Record<string, unknown>> = {}): Design =>
  designOf({ factors: sampleFactors(k), model: 'main', family: 'fractional factorial', options });

function errorOf(build: () => unknown): DomainError {
  try {
    build();
  } catch (error) {
    if (error instanceof DomainError) return error;
    throw error;
  }
  throw new Error('nothing was thrown');
}

/** Sum over the runs of the product of some columns. */
function productSum(rows: readonly (readonly number[])[], columns: readonly number[]): number {
  return rows.reduce((sum, row) => sum + columns.reduce((value, j) => value * row[j]!, 1), 0);
}

/** Whether no main effect and no other interaction of two shares the contrast of a pair. */
function isClear(rows: readonly (readonly number[])[], [a, b]: readonly [number, number]): boolean {
  const k = rows[0]!.length;
  for (let i = 0; i < k; i++) {
    if (i !== a && i !== b && productSum(rows, [a, b, i]) !== 0) return false;
    for (let j = i + 1; j < k; j++) {
      const isSame = i === Math.min(a, b) && j === Math.max(a, b);
      if (!isSame && productSum(rows, [a, b, i, j]) !== 0) return false;
    }
  }
  return true;
}

const sizes = fc.integer({ min: 2, max: 7 }).chain((rank) =>
  fc.tuple(
    fc.integer({ min: rank, max: Math.min(15, 2 ** rank - 1) }).filter((k) => k >= 3),
    fc.constant(rank),
  ),
);

describe('minimumAberration', () => {
  it('law: every size up to 15 factors and 128 runs is proven, and its runs show its pattern', () => {
    fc.assert(
      fc.property(sizes, ([k, rank]) => {
        const { best, proof } = minimumAberration(k, rank);
        expect(proof.kind).toBe('proven');
        const facts = fractionFacts(fraction(k, { runs: 2 ** rank }));
        if (facts.kind !== 'regular') throw new Error(facts.kind);
        expect(facts.wordLengthPattern).toEqual(wordLengthPattern(best));
        expect(facts.resolution).toBe(resolutionOf(best));
        expect(facts.distinctRuns).toBe(2 ** rank);
        expect(facts.words).toHaveLength(2 ** (k - rank) - 1);
      }),
      { seed: 7, numRuns: 30 },
    );
  });

  // Words of length 4 in the tables of Chen, Sun & Wu (1993), Int. Statist. Review 61:131–145, and
  // their continuation to 128 runs; from memory.
  it.each([
    [12, 32, 38],
    [13, 32, 55],
    [14, 32, 77],
    [15, 32, 105],
    [12, 64, 6],
    [13, 64, 14],
    [14, 64, 22],
    [15, 64, 30],
    [12, 128, 1],
    [13, 128, 2],
    [14, 128, 3],
    [15, 128, 7],
  ])('has resolution IV and the tabled words of four, %i factors in %i runs', (k, runs, four) => {
    const { best } = minimumAberration(k, Math.log2(runs));
    expect(wordLengthPattern(best).slice(0, 2)).toEqual([0, four]);
  });

  // Naive search over every set of generators, independent of the search under test.
  it.each([
    [6, 3],
    [7, 4],
    [9, 4],
    [8, 5],
  ])('is no worse than any of all generator sets, %i factors, rank %i', (k, rank) => {
    const vectors = Array.from({ length: 2 ** rank - 1 }, (_, i) => i + 1);
    const others = vectors.filter((vector) => (vector & (vector - 1)) !== 0);
    let least: number[] | null = null;
    const choose = (from: number, chosen: readonly number[]): void => {
      if (chosen.length === k - rank) {
        const columns = [...Array.from({ length: rank }, (_, i) => 1 << i), ...chosen];
        const pattern = new Array<number>(k - 2).fill(0);
        for (let mask = 1; mask < 2 ** k; mask++) {
          let sum = 0;
          let size = 0;
          for (let j = 0; j < k; j++) {
            if ((mask >> j) & 1) {
              sum ^= columns[j]!;
              size++;
            }
          }
          if (sum === 0) pattern[size - 3]!++;
        }
        const at = least === null ? 0 : pattern.findIndex((value, i) => value !== least![i]);
        if (least === null || (at >= 0 && pattern[at]! < least[at]!)) least = pattern;
        return;
      }
      for (let i = from; i < others.length; i++) choose(i + 1, [...chosen, others[i]!]);
    };
    choose(0, []);
    expect(wordLengthPattern(minimumAberration(k, rank).best)).toEqual(least);
  });

  it('throws fraction_out_of_range when there are more runs than combinations', () => {
    expect(errorOf(() => minimumAberration(4, 5)).code).toBe('fraction_out_of_range');
  });
});

describe('fractional factorial', () => {
  it.each(
    (
      expectedOf('minimum-aberration') as {
        k: number;
        runs: number;
        clear_2fi_of_example: number;
        clear_main_effects_of_example: number;
      }[]
    ).filter(({ k }) => k <= 9),
  )('has as many clear effects as the reference, $k factors in $runs runs', (want) => {
    const facts = fractionFacts(fraction(want.k, { runs: want.runs }));
    if (facts.kind !== 'regular') throw new Error(facts.kind);
    expect(facts.clearInteractions).toHaveLength(want.clear_2fi_of_example);
    const clearMain = facts.aliasChains.filter(
      (chain) => chain.length === 1 && chain[0]!.factors.length === 1,
    );
    expect(clearMain).toHaveLength(want.clear_main_effects_of_example);
  });

  it('takes its size from the model when no size is asked', () => {
    const runsFor = (model: 'main' | 'interactions'): number =>
      designOf({ factors: sampleFactors(6), model, family: 'fractional factorial' }).runs.length;
    expect([runsFor('main'), runsFor('interactions')]).toEqual([16, 32]);
  });

  it('keeps asked interactions clear and says whether aberration is least', () => {
    const design = fraction(7, {
      runs: 32,
      clear: [
        ['factor 1', 'factor 2'],
        ['factor 3', 'factor 7'],
      ],
    });
    const rows = codedRows(design);
    expect(isClear(rows, [0, 1])).toBe(true);
    expect(isClear(rows, [2, 6])).toBe(true);
    expect(design.notes[0]).toContain('factor 1 × factor 2, factor 3 × factor 7');
  });

  it('law: a request for clear interactions is met in the runs or refused', () => {
    const request = fc.integer({ min: 5, max: 9 }).chain((k) =>
      fc.record({
        k: fc.constant(k),
        rank: fc.integer({ min: 4, max: 5 }),
        pairs: fc.uniqueArray(
          fc
            .tuple(fc.integer({ min: 0, max: k - 1 }), fc.integer({ min: 0, max: k - 1 }))
            .filter(([a, b]) => a < b),
          { minLength: 1, maxLength: 3, selector: ([a, b]) => `${a},${b}` },
        ),
      }),
    );
    fc.assert(
      fc.property(
        request.filter(({ k, rank }) => k > rank),
        ({ k, rank, pairs }) => {
          const answer = fractionWithClear(k, rank, pairs);
          if (answer.kind !== 'met') {
            expect(answer.kind).toBe('impossible');
            return;
          }
          const rows = Array.from({ length: 1 << rank }, (_, run) =>
            answer.columns.map((vector) => {
              let sign = 1;
              for (let bit = 0; bit < rank; bit++) {
                if ((vector >> bit) & 1 && !((run >> bit) & 1)) sign = -sign;
              }
              return sign;
            }),
          );
          for (const pair of pairs) expect(isClear(rows, pair)).toBe(true);
        },
      ),
      { seed: 3, numRuns: 40 },
    );
  });

  it('law: a request is refused exactly when no assignment of columns meets it (6 factors, 16 runs)', () => {
    // Every fraction has a basis among its factors: four positions take the unit vectors, two take the rest.
    const every: number[][] = [];
    for (let first = 0; first < 6; first++) {
      for (let second = first + 1; second < 6; second++) {
        for (let a = 1; a < 16; a++) {
          for (let b = 1; b < 16; b++) {
            let unit = 1;
            const columns = Array.from({ length: 6 }, (_, i) => {
              if (i === first) return a;
              if (i === second) return b;
              unit *= 2;
              return unit / 2;
            });
            if (new Set(columns).size === 6) every.push(columns);
          }
        }
      }
    }
    const meets = (
      columns: readonly number[],
      pairs: readonly (readonly [number, number])[],
    ): boolean => {
      const sums = columns.flatMap((u, i) => columns.slice(i + 1).map((v) => u ^ v));
      return pairs.every(([a, b]) => {
        const sum = columns[a]! ^ columns[b]!;
        return !columns.includes(sum) && sums.filter((other) => other === sum).length === 1;
      });
    };
    const all = Array.from({ length: 6 }, (_, i) => i);
    const pairsOfSix = all.flatMap((a) => all.slice(a + 1).map((b): [number, number] => [a, b]));
    const verdicts = new Set<string>();
    fc.assert(
      fc.property(
        fc.subarray(pairsOfSix, { minLength: 1, maxLength: 8 }),
        fc.constantFrom(3 as const, 4 as const),
        (pairs, resolution) => {
          const isPossible = every.some(
            (columns) =>
              meets(columns, pairs) &&
              (resolution === 3 ||
                !columns.some((u, i) => columns.slice(i + 1).some((v) => columns.includes(u ^ v)))),
          );
          const { kind } = fractionWithClear(6, 4, pairs, resolution);
          verdicts.add(kind);
          expect(kind).toBe(isPossible ? 'met' : 'impossible');
        },
      ),
      { seed: 11, numRuns: 120 },
    );
    expect([...verdicts].sort()).toEqual(['impossible', 'met']);
  });

  it('throws interactions_not_clear when resolution IV leaves none clear, and says what would do', () => {
    const error = errorOf(() =>
      fraction(6, { runs: 16, resolution: 4, clear: [['factor 1', 'factor 2']] }),
    );
    expect(error.code).toBe('interactions_not_clear');
    expect(error.message).toMatchInlineSnapshot(
      `"designOf: the fraction must keep factor 1 × factor 2 clear; got 6 factors in 16 runs at resolution IV (no regular fraction of 6 factors in 16 runs keeps them clear (all were examined)). 32 runs can do it."`,
    );
  });

  it('throws interactions_not_clear when there are not enough contrasts', () => {
    const clear = [2, 3, 4, 5, 6].map((i) => ['factor 1', `factor ${i}`]);
    const error = errorOf(() => fraction(6, { runs: 8, clear }));
    expect(error.code).toBe('interactions_not_clear');
    expect(error.message).toContain('need 11 contrasts, and 8 runs give 7');
  });

  it('throws resolution_impossible and tells the best there is', () => {
    const error = errorOf(() => fraction(9, { runs: 64, resolution: 5 }));
    expect(error.code).toBe('resolution_impossible');
    expect(error.message).toMatchInlineSnapshot(
      `"designOf: resolution of 9 factors in 64 runs must be at most IV (proven by a complete search); got V. Ask for more runs, or accept resolution IV."`,
    );
  });

  it.each([
    ['too_few_factors', 2, {}],
    ['too_many_factors', 16, {}],
    ['bad_run_count', 6, { runs: 24 }],
    ['bad_run_count', 6, { runs: 4 }],
    ['resolution_impossible', 12, { resolution: 5 }],
    ['unknown_factor', 6, { clear: [['factor 1', 'factor 9']] }],
    ['same_factor', 6, { clear: [['factor 1', 'factor 1']] }],
    ['blocks_not_power_of_two', 5, { runs: 16, blocks: 3 }],
    ['blocks_impossible', 7, { runs: 8, blocks: 2 }],
  ])('throws %s with %i factors and %j', (code, k, options) => {
    expect(errorOf(() => fraction(k, options)).code).toBe(code);
  });

  it('refuses a named factor with three levels', () => {
    const factors = [
      ...sampleFactors(4),
      { name: 'nozzle', levels: ['a', 'b', 'c'], changes: 'hard' as const },
    ];
    const error = errorOf(() =>
      designOf({ factors, model: 'main', family: 'fractional factorial' }),
    );
    expect(error.code).toBe('needs_two_levels');
  });

  it('takes named factors with two levels', () => {
    const factors = sampleFactors(5, 2);
    const design = designOf({ factors, model: 'main', family: 'fractional factorial' });
    const rows = codedRows(design);
    for (let j = 0; j < 5; j++) expect(productSum(rows, [j])).toBe(0);
    expect(design.runs).toHaveLength(16);
  });
});

describe('blocks', () => {
  it('law: no main effect is confounded and no blocking of small designs does better', () => {
    const cases = [
      [5, 16, 2],
      [6, 16, 2],
      [6, 32, 4],
      [7, 32, 4],
    ] as const;
    for (const [k, runs, blocks] of cases) {
      const design = fraction(k, { runs, blocks });
      const rows = codedRows(design);
      const confoundedIn = (blockOf: readonly number[]): number[] => {
        const isConstant = (columns: readonly number[]): boolean => {
          const seen = new Map<number, number>();
          return rows.every((row, i) => {
            const value = columns.reduce((product, j) => product * row[j]!, 1);
            const first = seen.get(blockOf[i]!) ?? value;
            seen.set(blockOf[i]!, first);
            return first === value;
          });
        };
        const all = Array.from({ length: k }, (_, i) => i);
        const pairs = all.flatMap((i) => all.slice(i + 1).map((j) => [i, j]));
        return [all.filter((i) => isConstant([i])).length, pairs.filter(isConstant).length];
      };
      const own = confoundedIn(design.runs.map(({ block }) => block));
      expect(own[0]).toBe(0);
      // Rivals: blocks by the signs of any one or two products of factors.
      const masks = Array.from({ length: 2 ** k - 1 }, (_, i) => i + 1);
      const sign = (row: readonly number[], mask: number): number =>
        row.reduce((product, value, j) => ((mask >> j) & 1 ? product * value : product), 1);
      let best = Infinity;
      for (const first of masks) {
        for (const second of blocks === 2 ? [first] : masks) {
          const blockOf = rows.map(
            (row) => (sign(row, first) > 0 ? 1 : 0) + (sign(row, second) > 0 ? 2 : 0),
          );
          const sizes = new Map<number, number>();
          for (const block of blockOf) sizes.set(block, (sizes.get(block) ?? 0) + 1);
          const isEven = [...sizes.values()].every((size) => size === runs / blocks);
          if (sizes.size !== blocks || !isEven) continue;
          const [main, two] = confoundedIn(blockOf);
          if (main === 0) best = Math.min(best, two!);
        }
      }
      expect(own[1]).toBe(best);
    }
  }, 20_000);

  it('never gives a block an interaction asked to stay clear', () => {
    const design = fraction(6, { runs: 32, blocks: 8, clear: [['factor 1', 'factor 2']] });
    const facts = fractionFacts(design);
    if (facts.kind !== 'regular') throw new Error(facts.kind);
    expect(facts.confoundedWithBlocks.map(({ letters }) => letters)).not.toContain('AB');
    expect(new Set(design.runs.map(({ block }) => block)).size).toBe(8);
  });
});

describe('fractionFacts', () => {
  it('gives generators, words and chains of the half fraction of 4 factors', () => {
    // NIST/SEMATECH e-Handbook, section 5.3.3.4: 2^(4−1) with D = ABC, I = ABCD.
    const facts = fractionFacts(fraction(4, { runs: 8 }));
    if (facts.kind !== 'regular') throw new Error(facts.kind);
    expect(facts.generators).toEqual(['D = ABC']);
    expect(facts.words.map(({ letters, sign }) => [letters, sign])).toEqual([['ABCD', 1]]);
    expect(facts.aliasChains.map((chain) => chain.map(({ letters }) => letters).join('='))).toEqual(
      ['A', 'B', 'C', 'D', 'AB=CD', 'AC=BD', 'AD=BC'],
    );
  });

  it('carries the sign of the other half', () => {
    const design = fraction(4, { runs: 8 });
    const runs = design.runs.map((run) => ({
      ...run,
      coded: { ...run.coded, 'factor 4': 0 - Number(run.coded['factor 4']) },
    }));
    const facts = fractionFacts({ ...design, runs }, { order: 3 });
    if (facts.kind !== 'regular') throw new Error(facts.kind);
    expect(facts.generators).toEqual(['D = −ABC']);
    expect(facts.aliasChains[0]!.map(({ letters, sign }) => [letters, sign])).toEqual([
      ['A', 1],
      ['BCD', -1],
    ]);
  });

  it('law: chains of order 3 are what the contrasts say', () => {
    fc.assert(
      fc.property(fc.constantFrom([5, 8], [6, 16], [7, 16], [9, 32]), ([k, runs]) => {
        const design = fraction(k!, { runs });
        const rows = codedRows(design);
        const facts = fractionFacts(design, { order: 3 });
        if (facts.kind !== 'regular') throw new Error(facts.kind);
        const at = new Map(design.factors.map(({ name }, j) => [name, j]));
        const positions = (factors: readonly string[]): number[] =>
          factors.map((name) => at.get(name)!);
        for (const [lead, ...rest] of facts.aliasChains) {
          for (const word of rest) {
            const sum = productSum(rows, [...positions(lead!.factors), ...positions(word.factors)]);
            expect(sum).toBe(word.sign * runs!);
          }
        }
      }),
      { seed: 5, numRuns: 8 },
    );
  });

  it('names a design that is not two-level', () => {
    const design = designOf({ factors: sampleFactors(3), model: 'main', family: 'box-behnken' });
    expect(fractionFacts(design).kind).toBe('not-two-level');
  });

  it('reports partial aliasing of 12 runs as one third', () => {
    // Every triple of the 12-run array has |J3| = 4/12.
    const design = designOf({
      factors: sampleFactors(5),
      model: 'main',
      family: 'plackett-burman',
      options: { runs: 12 },
    });
    const facts = fractionFacts(design);
    if (facts.kind !== 'non-regular') throw new Error(facts.kind);
    expect(facts.largestThreeFactorAlias).toBeCloseTo(1 / 3, 12);
    expect(facts.generalisedWordLengthPattern[2]).toBeCloseTo(10 / 9, 12);
  });
});
