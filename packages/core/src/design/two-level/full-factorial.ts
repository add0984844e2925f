import { z } from 'zod';
import { DomainError } from '../../error/domain-error.ts';
import type { Point } from '../../factor/coding.ts';
import { type Factor, isNamed } from '../../factor/factor.ts';
import { withCentrePoints } from '../augment/centre-points.ts';
import { replicated } from '../augment/replicate.ts';
import type { Design, DesignRun } from '../design.ts';
import { commonOptions, designFamily } from '../family-definition.ts';
import { factorPosition } from '../known-name.ts';
import { runAt } from '../point-kind.ts';
import { blocksOf } from './blocked.ts';
import { unitColumns } from './column-set.ts';
import { twoLevelRuns } from './two-level-runs.ts';

const levelCount = z.int().min(2).max(9);
const mostRuns = 1024;
const mostBlockedFactors = 8;

/** Every combination of levels: numeric ones equally spaced, named ones as they are. */
export const fullFactorial = designFamily({
  name: 'full factorial',
  says: 'Every combination of levels: tells all effects apart, at the price of many runs.',
  options: z.strictObject({
    ...commonOptions,
    /** Levels of every numeric factor, or of each by name; 2 unless said. */
    levels: z.union([levelCount, z.record(z.string(), levelCount)]).default(2),
    blocks: z.int().min(1).default(1),
  }),
  build: ({ factors, options }) => {
    const counts = levelCounts(factors, options.levels);
    const runs = counts.reduce((product, count) => product * count, 1);
    if (runs > mostRuns) {
      throw new DomainError(
        'too_many_runs',
        `designOf: a full factorial must have at most ${mostRuns} runs; got ${counts.join(' × ')} = ${runs}. Use "fractional factorial", "definitive screening" or "optimal".`,
        { runs },
      );
    }
    const { list, notes } = blockedRuns(factors, counts, options.blocks);
    const design: Design = {
      family: 'full factorial',
      factors,
      runs: list,
      notes: [`Full factorial ${counts.join(' × ')}: ${runs} runs.`, ...notes],
    };
    return replicated(withCentrePoints(design, options.centrePoints ?? 0), options.replicates);
  },
});

function levelCounts(
  factors: readonly Factor[],
  levels: number | Readonly<Record<string, number>>,
): number[] {
  if (typeof levels === 'object') {
    for (const name of Object.keys(levels)) {
      factorPosition(name, factors, 'designOf: factor in option "levels"');
    }
  }
  return factors.map((factor) => {
    if (isNamed(factor)) return factor.levels.length;
    return typeof levels === 'number' ? levels : (levels[factor.name] ?? 2);
  });
}

function blockedRuns(
  factors: readonly Factor[],
  counts: readonly number[],
  blocks: number,
): { readonly list: DesignRun[]; readonly notes: readonly string[] } {
  if (blocks === 1) return { list: allCombinations(factors, counts), notes: [] };
  const k = factors.length;
  if (k > mostBlockedFactors || counts.some((count) => count !== 2)) {
    throw new DomainError(
      'blocks_impossible',
      `designOf: blocks of a full factorial must have at most ${mostBlockedFactors} factors, all at two levels; got ${counts.join(' × ')} in ${blocks} blocks. Use replicates as blocks, or "optimal".`,
      { blocks },
    );
  }
  const set = unitColumns(k);
  const { generators, notes } = blocksOf(set, blocks);
  return { list: twoLevelRuns(set.columns, k, factors, generators), notes };
}

/** All combinations, the first factor changing fastest, low before high. */
function allCombinations(factors: readonly Factor[], counts: readonly number[]): DesignRun[] {
  let points: Point[] = [{}];
  for (const [j, factor] of factors.entries()) {
    const settings = isNamed(factor) ? factor.levels : equalSteps(counts[j]!);
    points = settings.flatMap((setting) =>
      points.map((point) => ({ ...point, [factor.name]: setting })),
    );
  }
  return points.map((point) => runAt(point, factors));
}

/** −1 to +1 in equal steps, exact at the ends and the middle. */
function equalSteps(count: number): number[] {
  return Array.from({ length: count }, (_, i) => (2 * i - (count - 1)) / (count - 1));
}
