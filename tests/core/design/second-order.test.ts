import { type Design, DomainError, designOf, type LinearConstraint } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { codedRows, quadraticRow, sampleFactors } from './sample-factors.ts';

const composite = (
  k: number,
  options: Readonly<Record<string, unknown>> = {},
  constraints: readonly LinearConstraint[] = [],
): Design =>
  designOf({
    factors: sampleFactors(k),
    model: 'quadratic',
    family: 'central composite',
    options,
    constraints,
  });

function errorOf(build: () => unknown): DomainError {
  try {
    build();
  } catch (error) {
    if (error instanceof DomainError) return error;
    throw error;
  }
  throw new Error('nothing was thrown');
}

/** Largest difference between a block's mean of a model column and the design's. */
function blockImbalance(design: Design): number {
  const model = codedRows(design).map(quadraticRow);
  let worst = 0;
  for (const block of new Set(design.runs.map((run) => run.block))) {
    const inside = model.filter((_, i) => design.runs[i]!.block === block);
    for (let j = 0; j < model[0]!.length; j++) {
      const mean = (rows: readonly (readonly number[])[]): number =>
        rows.reduce((sum, row) => sum + row[j]!, 0) / rows.length;
      worst = Math.max(worst, Math.abs(mean(inside) - mean(model)));
    }
  }
  return worst;
}

describe('central composite', () => {
  it('takes one centre count a block, the axial block last', () => {
    const design = composite(3, { cubeBlocks: 2, centrePoints: [2, 2, 1] });
    const centres = [1, 2, 3].map(
      (block) => design.runs.filter((run) => run.block === block && run.kind === 'centre').length,
    );
    expect(centres).toEqual([2, 2, 1]);
    expect(blockImbalance(design)).toBeLessThan(1e-12);
    const uneven = composite(3, { cubeBlocks: 2, centrePoints: [3, 1, 1] });
    expect(uneven.notes.join(' ')).toContain('not quite orthogonal');
    expect(blockImbalance(uneven)).toBeGreaterThan(1e-3);
    expect(composite(2, { centrePoints: [4] }).runs).toHaveLength(12);
    const error = errorOf(() => composite(3, { cubeBlocks: 2, centrePoints: [2, 2] }));
    expect(error.code).toBe('bad_centre_points');
    expect(error.message).toContain('got 2 for 3 blocks');
  });

  it('has corners, two axial points a factor and centres', () => {
    const kinds = composite(3).runs.map(({ kind }) => kind);
    const count = (kind: string): number => kinds.filter((value) => value === kind).length;
    expect([count('corner'), count('axial'), count('centre')]).toEqual([8, 6, 5]);
  });

  it('takes a resolution V fraction from five factors on, found by search', () => {
    const corners = [5, 6, 7, 8, 9, 10, 11].map(
      (k) => composite(k).runs.filter(({ kind }) => kind === 'corner').length,
    );
    expect(corners).toEqual([16, 32, 64, 64, 128, 128, 128]);
  });

  it('stands inside low and high when inscribed, in the same proportions', () => {
    const plain = codedRows(composite(4));
    const inscribed = codedRows(composite(4, { inscribed: true }));
    expect(Math.max(...inscribed.flat())).toBe(1);
    for (const [i, row] of plain.entries()) {
      for (const [j, value] of row.entries()) expect(inscribed[i]![j]).toBeCloseTo(value / 2, 12);
    }
  });

  it('uses three levels when face-centred', () => {
    const values = new Set(codedRows(composite(3, { alpha: 'face-centred' })).flat());
    expect([...values].sort()).toEqual([-1, 0, 1]);
  });

  it('puts spherical axial points at the radius of the corners', () => {
    const radii = codedRows(composite(3, { alpha: 'spherical' })).map((row) => Math.hypot(...row));
    for (const radius of radii)
      expect(Math.min(radius, Math.abs(radius - Math.sqrt(3)))).toBeLessThan(1e-12);
  });

  it('makes squares uncorrelated by the rule of orthogonal quadratics', () => {
    const rows = codedRows(composite(3, { alpha: 'orthogonal quadratics', centrePoints: 4 }));
    const squares = rows.map((row) => row.map((x) => x * x));
    const mean = squares.reduce((sum, row) => sum + row[0]!, 0) / rows.length;
    const covariance = squares.reduce((sum, row) => sum + (row[0]! - mean) * (row[1]! - mean), 0);
    expect(Math.abs(covariance)).toBeLessThan(1e-12);
  });

  it('says when a chosen distance leaves the blocks not orthogonal', () => {
    const design = composite(3, { cubeBlocks: 2, alpha: 'face-centred' });
    expect(blockImbalance(design)).toBeGreaterThan(0.01);
    expect(design.notes.join(' ')).toContain('not quite orthogonal');
    expect(blockImbalance(composite(3, { cubeBlocks: 2 }))).toBeLessThan(1e-12);
  });

  it('throws axial_outside_limits naming factor, value, limit and what to do', () => {
    const error = errorOf(() => composite(3, { limits: { 'factor 2': { max: 11 } } }));
    expect(error.code).toBe('axial_outside_limits');
    expect(error.message).toMatchInlineSnapshot(
      `"designOf: axial point of "factor 2" must be at most 11 mm; got 13.409 mm (low 0 mm, high 10 mm). Set "inscribed" to true to draw the whole design inside low and high, or "alpha" to "face-centred" to end the axes at low and high."`,
    );
    expect(
      composite(3, { limits: { 'factor 2': { max: 11 } }, inscribed: true }).runs,
    ).toHaveLength(19);
    expect(
      composite(3, { limits: { 'factor 2': { max: 11 } }, alpha: 'face-centred' }).runs,
    ).toHaveLength(19);
  });

  it('throws axial_outside_limits in the words of a constraint', () => {
    const ceiling = {
      coefficients: { 'factor 1': 1 },
      atMost: 1.2,
      says: 'factor 1 below its ceiling',
    };
    const error = errorOf(() => composite(2, {}, [ceiling]));
    expect(error.code).toBe('axial_outside_limits');
    expect(error.message).toContain('"factor 1 below its ceiling"');
    expect(error.message).toContain('12.0711 mm');
  });

  it('throws run_outside_constraints when a corner breaks one', () => {
    const step = { coefficients: { 'factor 1': 1, 'factor 2': 1 }, atMost: 1.8, says: 'the sum' };
    expect(errorOf(() => composite(2, {}, [step])).code).toBe('run_outside_constraints');
  });

  it.each([
    ['too_few_factors', 1, {}],
    ['too_many_factors', 12, {}],
    ['bad_cube_runs', 6, { cubeRuns: 16 }],
    ['blocks_impossible', 5, { cubeBlocks: 2 }],
    ['bad_option', 3, { alpha: 'rotatble' }],
    ['bad_option', 3, { alpha: -1 }],
    ['unknown_option', 3, { alfa: 2 }],
    ['unknown_factor', 3, { limits: { 'factor 7': { max: 1 } } }],
  ])('throws %s with %i factors and %j', (code, k, options) => {
    expect(errorOf(() => composite(k, options)).code).toBe(code);
  });
});

describe('box-behnken', () => {
  const edges = (k: number, options: Readonly<Record<string, unknown>> = {}): Design =>
    designOf({ factors: sampleFactors(k), model: 'quadratic', family: 'box-behnken', options });

  it.each([
    [4, 3],
    [5, 2],
    [6, 2],
    [7, 2],
  ])('splits %i factors into %i orthogonal blocks', (k, blocks) => {
    // Box & Behnken (1960), from memory; orthogonality is what counts.
    const design = edges(k, { blocked: true });
    expect(new Set(design.runs.map(({ block }) => block)).size).toBe(blocks);
    expect(blockImbalance(design)).toBeLessThan(1e-12);
    expect(design.runs).toHaveLength(edges(k).runs.length);
  });

  it('visits no corner', () => {
    for (let k = 3; k <= 7; k++) {
      expect(edges(k).runs.some(({ kind }) => kind === 'corner')).toBe(false);
    }
  });

  it('throws blocks_impossible when three factors are to be blocked', () => {
    expect(errorOf(() => edges(3, { blocked: true })).code).toBe('blocks_impossible');
  });

  it('throws needs_numeric_factors naming the factor with levels', () => {
    const factors = sampleFactors(4, 1);
    const error = errorOf(() => designOf({ factors, model: 'quadratic', family: 'box-behnken' }));
    expect(error.code).toBe('needs_numeric_factors');
    expect(error.message).toMatchInlineSnapshot(
      `"designOf: every factor of family "box-behnken" must be numeric; got named levels this, that (factor "factor 4"). Make one plan per level, or use "full factorial" or "optimal"."`,
    );
  });
});
