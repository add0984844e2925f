import type { Factor } from '../../factor/factor.ts';
import type { DesignRun } from '../design.ts';
import { pointOf, runAt } from '../point-kind.ts';
import { bitCount } from './column-set.ts';

/**
 * The runs of a regular fraction, basic factors in standard order (the first changes fastest,
 * minus before plus), every generated factor the plain product of its basic ones.
 *
 * @param columns - one vector of r bits a factor
 * @param rank - r; 2^r runs
 * @param blockGenerators - vectors whose products number the blocks; none gives one block
 */
export function twoLevelRuns(
  columns: readonly number[],
  rank: number,
  factors: readonly Factor[],
  blockGenerators: readonly number[] = [],
): DesignRun[] {
  const runs: DesignRun[] = [];
  for (let run = 0; run < 1 << rank; run++) {
    const product = (vector: number): number =>
      (bitCount[vector]! - bitCount[vector & run]!) % 2 === 0 ? 1 : -1;
    let block = 1;
    for (const [i, vector] of blockGenerators.entries()) if (product(vector) > 0) block += 1 << i;
    runs.push(runAt(pointOf(columns.map(product), factors), factors, block));
  }
  return runs.sort((a, b) => a.block - b.block);
}
