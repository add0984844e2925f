import {
  type CellOutcome,
  feasibilityAt,
  fitFeasibility,
  fitPassFail,
  type PassFailFit,
  passProbability,
  seededUniform,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const matrix = (rows: readonly (readonly number[])[]) => ({
  rows: rows.length,
  cols: rows[0]!.length,
  data: Float64Array.from(rows.flat()),
});

function fitted(rows: readonly (readonly number[])[], passed: readonly boolean[]): PassFailFit {
  const result = fitPassFail({ x: matrix(rows), passed });
  if (result.kind !== 'fitted') throw new Error(result.words);
  return result;
}

describe('fitPassFail', () => {
  it('adds half a pass and half a fail to a single proportion (closed form)', () => {
    // Firth (1993): for one proportion the penalty is Jeffreys’ prior, ln((k + ½)/(n − k + ½)).
    const rows = Array.from({ length: 9 }, () => [1]);
    const fit = fitted(rows, [true, true, true, true, true, true, true, false, false]);
    expect(fit.coefficients[0]!.estimate).toBeCloseTo(Math.log(7.5 / 2.5), 10);
    expect(fit.fitted[0]).toBeCloseTo(0.75, 10);
  });

  it('stays finite when one setting separates all outcomes, and says so', () => {
    const rows = Array.from({ length: 12 }, (_, i) => [1, i < 6 ? -1 : 1]);
    const fit = fitted(
      rows,
      rows.map((row) => row[1] === 1),
    );
    // Two proportions of 6: (6 + ½)/(0 + ½) each way, so the slope is ln 13.
    expect(fit.coefficients[1]!.estimate).toBeCloseTo(Math.log(13), 9);
    expect(fit.isSeparated).toBe(true);
    expect(fit.coefficients[1]!.low).toBeGreaterThan(0);
    expect(fit.remarks[0]).toMatch(/Lean on the intervals/);
  });

  it('law: swapping pass and fail changes signs only', () => {
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const uniform = seededUniform(seed);
        const rows = Array.from({ length: 14 }, () => [1, 2 * uniform() - 1]);
        const passed = rows.map(
          (row, i) => i === 0 || (i !== 1 && uniform() < 0.5 + 0.4 * row[1]!),
        );
        const fit = fitted(rows, passed);
        const swapped = fitted(
          rows,
          passed.map((value) => !value),
        );
        for (const [j, term] of fit.coefficients.entries()) {
          const other = swapped.coefficients[j]!;
          expect(Math.abs(term.estimate + other.estimate)).toBeLessThan(1e-7);
          expect(Math.abs(term.low + other.high)).toBeLessThan(1e-5 * (1 + Math.abs(term.low)));
          expect(Math.abs(term.p - other.p)).toBeLessThan(1e-7);
        }
      }),
      { seed: 10, numRuns: 10 },
    );
  });

  it('gives the exact limit of the other outcome when all runs passed', () => {
    const result = fitPassFail({ x: matrix([[1], [1], [1]]), passed: [true, true, true] });
    if (result.kind !== 'one-outcome') throw new Error(result.kind);
    // Three passes of three have a probability of 5 % when a fail has this one.
    expect((1 - result.upperOther) ** 3).toBeCloseTo(0.05, 12);
    expect(result.words).toMatchInlineSnapshot(
      `"All 3 runs passed, so no term can be judged; the probability of failing over these settings is below 0.63 at 95 % confidence."`,
    );
  });

  it('refuses aliased terms by name and throws on shapes', () => {
    const rows = [1, 2, 3, 4].map((v) => [1, v, 2 * v]);
    const passed = [true, false, true, false];
    const names = ['mean', 'level', 'twice'];
    const result = fitPassFail({ x: matrix(rows), passed, names });
    expect(result).toMatchObject({ kind: 'aliased', terms: ['level', 'twice'] });
    expect(() => fitPassFail({ x: matrix(rows), passed: [true] })).toThrowError(
      expect.objectContaining({ code: 'shape_mismatch' }),
    );
  });

  it('brackets the probability of passing', () => {
    const rows = Array.from({ length: 12 }, (_, i) => [1, (i % 4) - 1.5]);
    const fit = fitted(
      rows,
      rows.map((row, i) => row[1]! > 0 !== (i === 5)),
    );
    const at = passProbability(fit, [1, 1]);
    expect(at.low).toBeLessThan(at.probability);
    expect(at.high).toBeGreaterThan(at.probability);
    expect(passProbability(fit, rows[0]!).probability).toBeCloseTo(fit.fitted[0]!, 10);
  });
});

describe('fitFeasibility', () => {
  const levels = [-1, -0.8, -0.6, -0.3, 0, 0.1, 0.3, 0.5, 0.7, 0.9, 1];
  const rows = levels.flatMap((level) => [-1, 1].map((rpm) => [1, level, rpm]));
  const outcomes = rows.map(([, level, rpm]): CellOutcome => {
    const heat = level! + 0.3 * rpm!;
    return heat < -0.7 ? 'cold' : heat > 0.8 ? 'hot' : 'runs';
  });

  it('finds a window between cold and hot, probabilities adding to one', () => {
    const fit = fitFeasibility({ x: matrix(rows), outcomes, names: ['mean', 'level', 'rpm'] });
    if (fit.kind !== 'fitted') throw new Error(fit.words);
    const at = (level: number) => feasibilityAt(fit, [1, level, 0]);
    expect(at(-1).cold).toBeGreaterThan(0.5);
    expect(at(1).hot).toBeGreaterThan(0.5);
    expect(at(0).runs).toBeGreaterThan(0.8);
    for (const level of [-2, -1, 0, 0.5, 1, 2]) {
      const { runs, cold, hot, noFeed, low, high } = at(level);
      expect(runs + cold + hot + noFeed).toBeCloseTo(1, 12);
      expect(low).toBeLessThanOrEqual(runs);
      expect(high).toBeGreaterThanOrEqual(runs);
    }
    expect(fit.stages.map(({ kind }) => kind)).toEqual(['fitted', 'fitted', 'not-seen']);
    expect(fit.remarks[0]).toMatch(/cut off cleanly/);
  });

  it('leaves cells blocked by accident out and counts them', () => {
    const changed = outcomes.map((outcome, i) => (i === 10 ? 'blocked' : outcome));
    const fit = fitFeasibility({ x: matrix(rows), outcomes: changed });
    expect(fit).toMatchObject({ kind: 'fitted', cells: 21, leftOut: 1 });
  });

  it('says so when all ran or none did', () => {
    const all = fitFeasibility({ x: matrix(rows), outcomes: rows.map(() => 'runs' as const) });
    expect(all).toMatchObject({ kind: 'all-run', cells: 22 });
    const none = fitFeasibility({ x: matrix(rows), outcomes: rows.map(() => 'cold' as const) });
    expect(none).toMatchObject({ kind: 'none-run', cells: 22 });
  });

  it('takes terms the cells of one stage cannot tell as zero, and says so', () => {
    const few = [
      [1, -1, -1],
      [1, -1, 1],
      [1, 0, 0],
      [1, 1, 1],
      [1, 0.5, 0.5],
    ];
    const fit = fitFeasibility({
      x: matrix(few),
      outcomes: ['cold', 'cold', 'runs', 'hot', 'runs'],
      names: ['mean', 'level', 'rpm'],
    });
    if (fit.kind !== 'fitted') throw new Error(fit.words);
    expect(fit.remarks.join(' ')).toMatch(/"hot" cannot tell rpm/);
    expect(feasibilityAt(fit, [1, 0, 0]).runs).toBeGreaterThan(0.3);
  });
});
