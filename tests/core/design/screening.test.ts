import {
  columnChoice,
  type Design,
  DomainError,
  designOf,
  mainEffectOverlap,
  type Point,
  screeningArray,
  screeningRunNumbers,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { codedRows, gram, inverse, sampleFactors } from './sample-factors.ts';

const screening = (
  k: number,
  named: number,
  options: Readonly<Record<string, unknown>> = {},
): Design =>
  designOf({
    factors: sampleFactors(k, named),
    model: 'main',
    family: 'definitive screening',
    options,
  });

function codeOf(build: () => unknown): string {
  try {
    build();
  } catch (error) {
    if (error instanceof DomainError) return error.code;
    throw error;
  }
  return 'nothing thrown';
}

const sum = (values: readonly number[]): number =>
  values.reduce((total, value) => total + value, 0);

/** Every way to take k of m, ascending. */
function* subsets(m: number, k: number, from = 0): Generator<number[]> {
  if (k === 0) {
    yield [];
    return;
  }
  for (let first = from; first <= m - k; first++)
    for (const rest of subsets(m, k - 1, first + 1)) yield [first, ...rest];
}

/** Mean squared correlation of main effects with interactions of two other columns, worked out plainly. */
function leakOf(columns: readonly (readonly number[])[]): number {
  let total = 0;
  let count = 0;
  for (const [a, x] of columns.entries()) {
    for (const [b, y] of columns.entries()) {
      for (const [c, z] of columns.entries()) {
        if (a === b || a === c || b >= c) continue;
        total += (sum(x.map((value, i) => value * y[i]! * z[i]!)) / x.length) ** 2;
        count++;
      }
    }
  }
  return total / count;
}

describe('columnChoice', () => {
  it.each([
    [8, [3, 4, 5, 6, 7]],
    [12, [4, 6, 9]],
    [16, [4, 6, 12]],
    [20, [4, 5]],
  ])('is the best there is, by every subset of %i runs', (runs, sizes) => {
    const { matrix } = screeningArray(runs);
    const all = Array.from({ length: matrix.cols }, (_, j) =>
      Array.from({ length: runs }, (__, i) => matrix.data[i * matrix.cols + j]!),
    );
    for (const k of sizes) {
      const choice = columnChoice(matrix, k);
      let least = Number.POSITIVE_INFINITY;
      for (const set of subsets(matrix.cols, k))
        least = Math.min(least, leakOf(set.map((j) => all[j]!)));
      expect(choice.leak).toBeCloseTo(least, 12);
      expect(choice.leak).toBeCloseTo(leakOf(choice.columns.map((j) => all[j]!)), 12);
      expect(choice.leakOfFirst).toBeCloseTo(leakOf(all.slice(0, k)), 12);
    }
  });

  it('finds eight factors in 16 runs with main effects clear, and says so', () => {
    const design = designOf({
      factors: sampleFactors(8, 0),
      model: 'main',
      family: 'plackett-burman',
      options: { runs: 16 },
    });
    expect(mainEffectOverlap(design).withSecondOrder).toBeLessThan(1e-12);
    expect(design.notes.join(' ')).toContain('clear of all two-factor interactions');
  });

  it('never takes worse columns than the first, and takes as many as asked', () => {
    for (const runs of screeningRunNumbers) {
      const { matrix } = screeningArray(runs);
      for (const k of [2, Math.floor(runs / 3), Math.floor(runs / 2), runs - 1]) {
        const { columns, leak, leakOfFirst } = columnChoice(matrix, k);
        expect(new Set(columns).size).toBe(k);
        expect(leak).toBeLessThanOrEqual(leakOfFirst + 1e-12);
      }
    }
  });
});

describe('definitive screening', () => {
  it('law: with numeric factors main effects are orthogonal and clear of second order, 4 to 16 factors', () => {
    for (let k = 4; k <= 16; k++) {
      const design = screening(k, 0);
      const rows = codedRows(design);
      expect(rows).toHaveLength(2 * (k + (k % 2)) + 1);
      for (let a = 0; a < k; a++) {
        expect(sum(rows.map((row) => row[a]!))).toBe(0);
        expect([...new Set(rows.map((row) => row[a]!))].sort()).toEqual([-1, 0, 1]);
        for (let b = 0; b <= a; b++) {
          if (b < a) expect(sum(rows.map((row) => row[a]! * row[b]!))).toBe(0);
          for (let c = 0; c < k; c++) {
            expect(sum(rows.map((row) => row[a]! * row[b]! * row[c]!))).toBe(0);
          }
        }
      }
    }
  });

  it('estimates intercept, main effects and squares, 4 to 16 factors', () => {
    for (let k = 4; k <= 16; k++) {
      const model = codedRows(screening(k, 0)).map((row) => [1, ...row, ...row.map((x) => x * x)]);
      expect(inverse(gram(model)).logDet).toBeGreaterThan(0);
    }
  });

  it('spends spare columns on error', () => {
    const design = screening(6, 0, { spareColumns: 2 });
    expect(design.runs).toHaveLength(17);
    expect(design.notes.join(' ')).toContain('2 degrees of freedom for error');
  });

  it.each([1, 2, 3, 4])(
    'keeps %i named factors clear of second order by mirroring, and says the correlation it costs',
    (named) => {
      const design = screening(8, named);
      const { amongMainEffects, withSecondOrder } = mainEffectOverlap(design);
      expect(withSecondOrder).toBeLessThan(1e-12);
      expect(amongMainEffects).toBeGreaterThan(0);
      expect(amongMainEffects).toBeLessThan(0.2);
      expect(design.notes.at(-1)).toContain(`correlation is ${amongMainEffects.toFixed(2)}`);
    },
  );

  it.each([1, 2, 3, 4])('keeps %i named factors orthogonal and balanced when asked', (named) => {
    const design = screening(8, named, { namedFactors: 'orthogonal' });
    const { amongMainEffects, withSecondOrder } = mainEffectOverlap(design);
    expect(amongMainEffects).toBeLessThan(1e-12);
    expect(withSecondOrder).toBeGreaterThan(0);
    for (const column of [7, 7 - named + 1]) {
      expect(sum(codedRows(design).map((row) => row[column]!))).toBe(0);
    }
    expect(design.notes.at(-1)).toContain('no longer all clear');
  });

  it('law: mirrored designs hold the mirror image of every run', () => {
    fc.assert(
      fc.property(fc.integer({ min: 4, max: 16 }), fc.integer({ min: 0, max: 4 }), (k, wanted) => {
        const design = screening(k, Math.min(wanted, k - 2));
        const key = (row: readonly number[]): string => row.map((value) => value + 0).join();
        const present = new Set(codedRows(design).map(key));
        for (const row of codedRows(design)) {
          expect(present.has(key(row.map((value) => 0 - value)))).toBe(true);
        }
      }),
      { seed: 2, numRuns: 40 },
    );
  });

  it.each([
    ['too_few_factors', 3, 0, {}],
    ['too_many_factors', 17, 0, {}],
    ['needs_numeric_factors', 5, 4, {}],
    ['bad_centre_points', 6, 2, { centrePoints: 3 }],
    ['too_many_columns', 16, 0, { spareColumns: 6 }],
    ['bad_option', 6, 0, { centrePoints: 0 }],
  ])('throws %s with %i factors, %i named, %j', (code, k, named, options) => {
    expect(codeOf(() => screening(k, named, options))).toBe(code);
  });
});

describe('plackett-burman', () => {
  const build = (k: number, options: Readonly<Record<string, unknown>> = {}): Design =>
    designOf({ factors: sampleFactors(k, 1), model: 'main', family: 'plackett-burman', options });

  it('takes the smallest multiple of four above the number of factors', () => {
    const sizes = [2, 7, 8, 11, 12, 27, 39, 47].map((k) => build(k).runs.length);
    expect(sizes).toEqual([8, 8, 12, 12, 16, 28, 40, 48]);
  });

  it('law: columns of any number of factors are balanced and orthogonal', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 47 }), (k) => {
        const rows = codedRows(build(k));
        const products = gram(rows.map((row) => [1, ...row]));
        for (const [i, line] of products.entries()) {
          for (const [j, value] of line.entries()) expect(value).toBe(i === j ? rows.length : 0);
        }
      }),
      { seed: 4, numRuns: 12 },
    );
  });

  it('wholly aliases no three of 38 factors in 40 runs', () => {
    const rows = codedRows(build(38));
    for (let a = 0; a < 38; a++) {
      for (let b = a + 1; b < 38; b++) {
        for (let c = b + 1; c < 38; c++) {
          let total = 0;
          for (const row of rows) total += row[a]! * row[b]! * row[c]!;
          if (Math.abs(total) === 40) throw new Error(`wholly aliased: ${a}, ${b}, ${c}`);
        }
      }
    }
    expect(rows).toHaveLength(40);
  });

  it('puts centre points at both levels of a named factor', () => {
    const design = build(5, { centrePoints: 2 });
    const centres = design.runs.filter(({ kind }) => kind === 'centre');
    const levelOf = ({ coded }: { coded: Point }) => coded['factor 5'];
    expect(centres.map(levelOf)).toEqual(['this', 'this', 'that', 'that']);
  });

  it.each([
    ['too_few_factors', 1, {}],
    ['too_many_factors', 48, {}],
    ['bad_run_count', 9, { runs: 8 }],
    ['bad_run_count', 9, { runs: 14 }],
  ])('throws %s with %i factors and %j', (code, k, options) => {
    expect(codeOf(() => build(k, options))).toBe(code);
  });
});
