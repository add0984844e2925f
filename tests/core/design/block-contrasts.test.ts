import {
  blockContrasts,
  designInformation,
  designOf,
  modelTerms,
  predictionVariance,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { sampleFactors } from './sample-factors.ts';

describe('blockContrasts', () => {
  it('law: sums to zero over the runs and spans the blocks, labels with gaps included', () => {
    const blocks = [1, 1, 1, 4, 4, 9];
    const { cols, data } = blockContrasts(blocks);
    expect(cols).toBe(2);
    for (let c = 0; c < cols; c++) {
      const column = blocks.map((_, i) => data[i * cols + c]!);
      expect(column.reduce((sum, value) => sum + value, 0)).toBeCloseTo(0, 12);
    }
    // Runs of a block are alike, and the three blocks differ.
    expect(data.slice(0, 2)).toEqual(data.slice(2, 4));
    expect(data.slice(0, 2)).not.toEqual(data.slice(6, 8));
    expect(data.slice(6, 8)).not.toEqual(data.slice(10, 12));
  });

  it('has no column for one block', () => {
    expect(blockContrasts([2, 2]).cols).toBe(0);
  });

  // Box & Hunter (1957): blocks that are orthogonal leave every estimate as it is without blocks.
  it.each([2, 3, 4])('leaves predictions of %i factors alone when blocks are orthogonal', (k) => {
    const factors = sampleFactors(k, 0);
    const { runs } = designOf({
      factors,
      model: 'quadratic',
      family: 'central composite',
      options: { alpha: 'orthogonal blocks', cubeBlocks: 1 },
    });
    expect(new Set(runs.map(({ block }) => block)).size).toBeGreaterThan(1);
    const terms = modelTerms('quadratic', factors);
    const blocked = designInformation({ factors, terms, runs });
    const whole = designInformation({
      factors,
      terms,
      runs: runs.map((run) => ({ ...run, block: 1 })),
    });
    for (const at of [0, 0.4, 0.9]) {
      const point = Object.fromEntries(factors.map(({ name }, j) => [name, j % 2 ? at : -at]));
      expect(predictionVariance(blocked, point)).toBeCloseTo(predictionVariance(whole, point)!, 10);
    }
  });
});
