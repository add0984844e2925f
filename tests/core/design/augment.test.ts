import {
  type Design,
  DomainError,
  designOf,
  foldOver,
  fractionFacts,
  replicated,
  withAxialBlock,
  withCentrePoints,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { codedRows, quadraticRow, sampleFactors } from './sample-factors.ts';

const fraction = (k: number, runs: number): Design =>
  designOf({
    factors: sampleFactors(k),
    model: 'main',
    family: 'fractional factorial',
    options: { runs },
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

describe('foldOver', () => {
  it('lifts resolution III to IV when all signs are reversed', () => {
    // NIST/SEMATECH e-Handbook, section 5.3.3.8.1: the mirror image of a 2^(7−4).
    const folded = foldOver(fraction(7, 8));
    const facts = fractionFacts(folded);
    if (facts.kind !== 'regular') throw new Error(facts.kind);
    expect([facts.resolution, facts.distinctRuns, facts.wordLengthPattern[1]]).toEqual([4, 16, 7]);
    expect(folded.runs.slice(8).every(({ block }) => block === 2)).toBe(true);
    expect(folded.notes.at(-1)).toMatchInlineSnapshot(
      `"Fold-over: before 8 runs, after 16 (all factors reversed, as new blocks). Before: resolution III, main effects are mixed with two-factor interactions (clear: none). After: resolution IV, main effects are clear of two-factor interactions, which are mixed with one another (clear: A, B, C, D, E, F, G)."`,
    );
  });

  it('clears one factor and its interactions when only it is reversed', () => {
    // NIST/SEMATECH e-Handbook, section 5.3.3.8.2.
    const facts = fractionFacts(foldOver(fraction(7, 8), { reverse: ['factor 1'] }));
    if (facts.kind !== 'regular') throw new Error(facts.kind);
    const clear = facts.clearInteractions.map(({ letters }) => letters);
    expect(clear).toEqual(['AB', 'AC', 'AD', 'AE', 'AF', 'AG']);
    expect(facts.aliasChains.find((chain) => chain[0]!.letters === 'A')).toHaveLength(1);
  });

  it('adds half the runs when one end of a factor is kept', () => {
    const design = fraction(6, 16);
    const half = foldOver(design, {
      reverse: ['factor 1'],
      keep: { factor: 'factor 2', at: 'high' },
    });
    expect(half.runs).toHaveLength(24);
    expect(half.runs.slice(16).every(({ coded }) => coded['factor 2'] === 1)).toBe(true);
  });

  it('law: folding over twice the same way gives every run twice', () => {
    const design = fraction(5, 8);
    const twice = foldOver(foldOver(design), {});
    const counts = new Map<string, number>();
    for (const row of codedRows(twice)) {
      const key = row.join();
      counts.set(key, (counts.get(key) ?? 0) + 1);
    }
    expect([...counts.values()].every((count) => count === 2)).toBe(true);
  });

  it('leaves its input alone and skips centre runs', () => {
    const design = withCentrePoints(fraction(5, 8), 2);
    const before = structuredClone(design);
    expect(foldOver(design).runs).toHaveLength(18);
    expect(design).toEqual(before);
  });

  it.each([
    ['unknown_factor', { reverse: ['factor 9'] }],
    ['cannot_fold', { reverse: [] }],
  ])('throws %s', (code, how) => {
    expect(codeOf(() => foldOver(fraction(5, 8), how))).toBe(code);
  });
});

describe('withAxialBlock', () => {
  it('makes a factorial composite with orthogonal blocks', () => {
    const cube = withCentrePoints(fraction(5, 16), 6);
    const design = withAxialBlock(cube, { centrePoints: 1 });
    expect(design.runs).toHaveLength(33);
    expect(Math.max(...codedRows(design).flat())).toBeCloseTo(2, 12); // Box & Hunter (1957): α = 2
    const model = codedRows(design).map(quadraticRow);
    for (let j = 0; j < model[0]!.length; j++) {
      const mean = (rows: readonly (readonly number[])[]): number =>
        rows.reduce((sum, row) => sum + row[j]!, 0) / rows.length;
      const inside = model.filter((_, i) => design.runs[i]!.block === 2);
      expect(Math.abs(mean(inside) - mean(model))).toBeLessThan(1e-12);
    }
    expect(design.notes.at(-1)).toContain('before 22 runs, after 33');
  });

  it('says that a fraction of resolution IV stays aliased', () => {
    expect(withAxialBlock(fraction(6, 16)).notes.at(-1)).toContain('fold over first');
  });

  it('throws axial_outside_limits as a central composite does', () => {
    const limits = { 'factor 1': { min: -1 } };
    expect(codeOf(() => withAxialBlock(fraction(4, 8), { limits }))).toBe('axial_outside_limits');
  });

  it('throws needs_two_level_design for a design with edges', () => {
    const edges = designOf({
      factors: sampleFactors(3),
      model: 'quadratic',
      family: 'box-behnken',
    });
    expect(codeOf(() => withAxialBlock(edges))).toBe('needs_two_level_design');
  });
});

describe('withCentrePoints', () => {
  it('adds to each block, or as a new block', () => {
    const blocked = designOf({
      factors: sampleFactors(4),
      model: 'main',
      family: 'full factorial',
      options: { blocks: 2 },
    });
    const blocksOf = (design: Design): number[] =>
      design.runs.filter(({ kind }) => kind === 'centre').map(({ block }) => block);
    expect(blocksOf(withCentrePoints(blocked, 2))).toEqual([1, 1, 2, 2]);
    expect(blocksOf(withCentrePoints(blocked, 2, 'new block'))).toEqual([3, 3]);
    expect(withCentrePoints(blocked, 2).notes.at(-1)).toContain('before 0, after 4');
  });

  it('throws no_centre when all factors are named', () => {
    const factors = sampleFactors(2, 2);
    const design = designOf({ factors, model: 'main', family: 'full factorial' });
    expect(codeOf(() => withCentrePoints(design, 1))).toBe('no_centre');
  });
});

describe('replicated', () => {
  it('repeats every run, in the same or in new blocks', () => {
    const design = fraction(5, 8);
    expect(replicated(design, 3).runs).toHaveLength(24);
    const blocks = new Set(replicated(design, 3, 'new blocks').runs.map(({ block }) => block));
    expect([...blocks]).toEqual([1, 2, 3]);
  });

  it('throws bad_replicates when times is not a whole number', () => {
    expect(codeOf(() => replicated(fraction(5, 8), 1.5))).toBe('bad_replicates');
  });
});
