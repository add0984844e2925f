import { type Dense, zeros } from '../linear/dense.ts';

/**
 * Contrasts between blocks: one column a block but the last, 1 in its own block, −1 in the last, less
 * the mean of the column. The columns then sum to zero over the runs, so that the intercept, and with
 * it a prediction, is for blocks weighed by their runs. With orthogonal blocks that is the prediction
 * of the same design without blocks, and a few runs in a block of their own do not spoil the rest.
 *
 * @param blocks - label of each run; any whole numbers, gaps allowed
 * @returns shape (n, distinct blocks − 1)
 */
export function blockContrasts(blocks: readonly number[]): Dense {
  const labels = [...new Set(blocks)].sort((a, b) => a - b);
  const extra = labels.length - 1;
  const out = zeros(blocks.length, Math.max(0, extra));
  const sizes = labels.map((label) => blocks.filter((block) => block === label).length);
  for (const [i, block] of blocks.entries()) {
    const mine = labels.indexOf(block);
    for (let b = 0; b < extra; b++) {
      const value = mine === b ? 1 : mine === extra ? -1 : 0;
      out.data[i * extra + b] = value - (sizes[b]! - sizes[extra]!) / blocks.length;
    }
  }
  return out;
}
