import { DomainError } from '../../error/domain-error.ts';
import { type Blocking, leastConfounding } from './block-confounding.ts';
import type { ColumnSet } from './column-set.ts';

/**
 * Block generators for a number of blocks, with a sentence on what they cost.
 *
 * @param blocks - a power of two, less than the number of runs
 * @param kept - vectors of interactions that blocks must not take
 * @throws {DomainError} `blocks_not_power_of_two` or `blocks_impossible`
 */
export function blocksOf(
  set: ColumnSet,
  blocks: number,
  kept: readonly number[] = [],
): { readonly generators: readonly number[]; readonly notes: readonly string[] } {
  if (blocks === 1) return { generators: [], notes: [] };
  const q = Math.log2(blocks);
  const runs = 1 << set.rank;
  if (!Number.isInteger(q) || q >= set.rank) {
    throw new DomainError(
      'blocks_not_power_of_two',
      `designOf: blocks of ${runs} two-level runs must be 1, 2, 4, … up to ${runs / 2}; got ${blocks}. Choose one of these.`,
      { blocks, runs },
    );
  }
  const blocking = leastConfounding(set, q, kept);
  if (!blocking) {
    throw new DomainError(
      'blocks_impossible',
      `designOf: blocks must leave every main effect${kept.length > 0 ? ' and kept interaction' : ''} free; got ${blocks} blocks, of which every choice takes one (${set.columns.length} factors in ${runs} runs, all choices examined). Use fewer blocks or more runs.`,
      { blocks, runs },
    );
  }
  return { generators: blocking.generators, notes: [blockNote(blocks, blocking)] };
}

function blockNote(blocks: number, { confounded }: Blocking): string {
  const [, two = 0, three = 0] = confounded;
  return `${blocks} blocks: no main effect is given up; ${two} two-factor and ${three} three-factor interactions are mixed with block differences, the fewest possible (all ways of blocking examined).`;
}
