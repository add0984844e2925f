import { z } from 'zod';
import { DomainError } from '../../error/domain-error.ts';
import type { NumericFactor } from '../../factor/factor.ts';
import { byBlock } from '../augment/centre-points.ts';
import { replicated } from '../augment/replicate.ts';
import type { DesignRun } from '../design.ts';
import {
  assertFactorCount,
  commonOptions,
  designFamily,
  numericOnly,
} from '../family-definition.ts';
import { pointOf, runAt } from '../point-kind.ts';
import { leastConfounding } from '../two-level/block-confounding.ts';
import { type ColumnSet, mostFractionRank, resolutionOf } from '../two-level/column-set.ts';
import { roman } from '../two-level/letter.ts';
import { minimumAberration } from '../two-level/minimum-aberration.ts';
import { twoLevelRuns } from '../two-level/two-level-runs.ts';
import { type AlphaRule, alphaOf, alphaRules, type CompositeCounts } from './alpha.ts';
import { axialRuns } from './axial-runs.ts';
import { assertAxialInside, NaturalLimits } from './limits.ts';

const family = 'central composite';
const mostFactors = 11;
const centreCount = z.int().min(0).max(50);

const CompositeOptions = z.strictObject({
  ...commonOptions,
  /**
   * Centre runs: a number in each block, one for each factorial block and one for the axial block,
   * or a list with one for every block, the axial block last.
   */
  centrePoints: z
    .union([
      centreCount,
      z.array(centreCount).min(1),
      z.strictObject({ cube: centreCount, axial: centreCount }),
    ])
    .optional(),
  /** Axial distance in coded units, or a rule for it. */
  alpha: z.union([z.number().positive().max(10), z.enum(alphaRules)]).optional(),
  /** Shrinks the whole design so that its axial points stand at low and high. */
  inscribed: z.boolean().default(false),
  /** Runs of the factorial part, a power of two; the smallest of resolution V unless said. */
  cubeRuns: z.int().min(4).optional(),
  /** Blocks of the factorial part, a power of two; the axial points then form one block more. */
  cubeBlocks: z.int().min(1).optional(),
  /** Natural limits that axial points must respect, by factor. */
  limits: NaturalLimits.default({}),
});
type CompositeOptions = z.output<typeof CompositeOptions>;

/** Factorial part, axial points and centre: a full quadratic model. */
export const centralComposite = designFamily({
  name: family,
  says: 'Corners, axial points and centre: a full quadratic model, buildable in steps and blocks.',
  options: CompositeOptions,
  build: ({ factors: given, options, constraints }) => {
    const factors = numericOnly(family, given);
    assertFactorCount(family, factors, {
      least: 2,
      most: mostFactors,
      instead:
        factors.length < 2
          ? 'Use "full factorial" with three levels.'
          : 'Screen first with "definitive screening".',
    });
    const cube = cubeOf(factors.length, options.cubeRuns);
    const blocks = cubeBlocksOf(cube, options.cubeBlocks);
    const counts = countsOf(cube, blocks.count, options);
    const alpha = alphaFor(options, counts);
    const axial = axialRuns(factors, alpha, blocks.axialBlock);
    const corners = twoLevelRuns(cube.columns, cube.rank, factors, blocks.generators);
    const scale = options.inscribed && alpha > 1 ? 1 / alpha : 1;
    const outer = [...corners, ...axial].map((run) => scaled(run, scale));
    assertAxialInside(outer.slice(corners.length), factors, {
      limits: options.limits,
      constraints,
    });
    const runs = byBlock([...outer, ...centreRuns(factors, options, blocks)]);
    const notes = notesOf({ cube, counts, alpha, scale, options });
    return replicated({ family, factors, runs, notes }, options.replicates);
  },
});

/** The factorial part: all corners, or a fraction that tells all interactions of two apart. */
function cubeOf(k: number, asked: number | undefined): ColumnSet {
  const full = Math.min(k, mostFractionRank);
  const isEnough = (rank: number): boolean =>
    rank === k ||
    (k < 2 ** rank && (resolutionOf(minimumAberration(k, rank).best) ?? Infinity) >= 5);
  const ranks = Array.from({ length: full - 1 }, (_, i) => i + 2).filter(isEnough);
  const rank = asked === undefined ? ranks[0] : Math.log2(asked);
  if (rank !== undefined && ranks.includes(rank)) return minimumAberration(k, rank).best;
  const allowed = ranks.map((value) => 2 ** value);
  throw new DomainError(
    'bad_cube_runs',
    `designOf: factorial part of a central composite design in ${k} factors must have ${allowed.join(' or ')} runs, so that no two interactions are mixed; got ${asked}. Choose one of these.`,
    { factors: k, asked, allowed },
  );
}

interface CubeBlocks {
  readonly count: number;
  readonly generators: readonly number[];
  /** Block of the axial points; the one and only block when nothing is blocked. */
  readonly axialBlock: number;
}

function cubeBlocksOf(cube: ColumnSet, asked: number | undefined): CubeBlocks {
  if (asked === undefined) return { count: 1, generators: [], axialBlock: 1 };
  if (asked === 1) return { count: 1, generators: [], axialBlock: 2 };
  const q = Math.log2(asked);
  const blocking =
    Number.isInteger(q) && q < cube.rank ? leastConfounding(cube, q, pairVectors(cube)) : null;
  if (blocking) return { count: asked, generators: blocking.generators, axialBlock: asked + 1 };
  const allowed = [1, 2, 3, 4]
    .filter((power) => power < cube.rank && leastConfounding(cube, power, pairVectors(cube)))
    .map((power) => 2 ** power);
  throw new DomainError(
    'blocks_impossible',
    `designOf: blocks of ${1 << cube.rank} factorial runs in ${cube.columns.length} factors must be one of ${[1, ...allowed].join(', ')}, so that no interaction of two is lost; got ${asked}. Choose one of these, or give the factorial part more runs with "cubeRuns".`,
    { asked, allowed: [1, ...allowed] },
  );
}

/** Vectors of all interactions of two: none may go to a block difference. */
function pairVectors({ columns }: ColumnSet): number[] {
  return columns.flatMap((a, i) => columns.slice(i + 1).map((b) => a ^ b));
}

/** Centre runs of every block, the axial block last; unblocked, all count as factorial. */
function centresPerBlock(options: CompositeOptions, cubeBlocks: number): readonly number[] {
  const { centrePoints } = options;
  const alike = (cube: number, axial: number): number[] => [
    ...new Array<number>(cubeBlocks).fill(cube),
    axial,
  ];
  if (Array.isArray(centrePoints)) return listedCentres(centrePoints, options, cubeBlocks);
  if (typeof centrePoints === 'object') return alike(centrePoints.cube, centrePoints.axial);
  if (options.cubeBlocks === undefined) return alike(centrePoints ?? 5, 0);
  return alike(centrePoints ?? 3, centrePoints ?? 3);
}

function listedCentres(
  list: readonly number[],
  options: CompositeOptions,
  cubeBlocks: number,
): readonly number[] {
  const blocks = options.cubeBlocks === undefined ? 1 : cubeBlocks + 1;
  if (list.length === blocks) return options.cubeBlocks === undefined ? [...list, 0] : list;
  throw new DomainError(
    'bad_centre_points',
    `designOf: option "centrePoints" of family "${family}" must have one count a block, the axial block last; got ${list.length} for ${blocks} ${blocks === 1 ? 'block' : 'blocks'}. Give ${blocks}, or set "cubeBlocks".`,
    { got: list.length, blocks },
  );
}

function countsOf(cube: ColumnSet, blocks: number, options: CompositeOptions): CompositeCounts {
  const each = centresPerBlock(options, blocks);
  return {
    factors: cube.columns.length,
    cubeRuns: 1 << cube.rank,
    cubeCentres: each.slice(0, -1).reduce((sum, count) => sum + count, 0),
    axialCentres: each.at(-1)!,
  };
}

function alphaFor({ alpha, cubeBlocks }: CompositeOptions, counts: CompositeCounts): number {
  if (typeof alpha === 'number') return alpha;
  return alphaOf(alpha ?? (cubeBlocks === undefined ? 'rotatable' : 'orthogonal blocks'), counts);
}

function scaled(run: DesignRun, scale: number): DesignRun {
  if (scale === 1) return run;
  const coded = Object.fromEntries(
    Object.entries(run.coded).map(([name, value]) => {
      const product = Number(value) * scale;
      // α·(1/α) may miss 1 by a rounding.
      return [name, Math.abs(Math.abs(product) - 1) < 1e-12 ? Math.sign(product) : product];
    }),
  );
  return { ...run, coded };
}

function centreRuns(
  factors: readonly NumericFactor[],
  options: CompositeOptions,
  { count, axialBlock }: CubeBlocks,
): DesignRun[] {
  const each = centresPerBlock(options, count);
  const origin = pointOf(new Array<number>(factors.length).fill(0), factors);
  const inBlock = (block: number, runs: number): DesignRun[] =>
    Array.from({ length: runs }, () => runAt(origin, factors, block));
  const cubes = Array.from({ length: count }, (_, i) => inBlock(i + 1, each[i]!));
  return [...cubes.flat(), ...inBlock(axialBlock, each.at(-1)!)];
}

function notesOf(built: {
  readonly cube: ColumnSet;
  readonly counts: CompositeCounts;
  readonly alpha: number;
  readonly scale: number;
  readonly options: CompositeOptions;
}): string[] {
  const { cube, counts, alpha, scale, options } = built;
  const k = counts.factors;
  const resolution = resolutionOf(cube);
  const part =
    resolution === null
      ? `all ${counts.cubeRuns} corners`
      : `${counts.cubeRuns} corners of a resolution ${roman(resolution)} fraction`;
  const centres = counts.cubeCentres + counts.axialCentres;
  const notes = [
    `${part}, ${2 * k} axial points at ±${round(alpha * scale)}, ${centres} at the centre.`,
    `Axial distance ${round(alpha)}${ruleWords(options.alpha, options.cubeBlocks)}${rotatableWords(alpha, counts)}.`,
  ];
  if (scale !== 1) {
    notes.push(`Inscribed: axial points stand at low and high, corners at ±${round(scale)}.`);
  }
  if (options.cubeBlocks !== undefined) {
    const needed = alphaOf('orthogonal blocks', counts);
    const isUneven = Array.isArray(options.centrePoints)
      ? new Set(options.centrePoints.slice(0, -1)).size > 1
      : false;
    if (isUneven)
      notes.push(
        'Blocks are not quite orthogonal: factorial blocks have different numbers of centre runs.',
      );
    else
      notes.push(
        Math.abs(needed - alpha) < 1e-9
          ? 'Blocks are orthogonal: a difference between days does not move any coefficient.'
          : `Blocks are not quite orthogonal: that needs an axial distance of ${round(needed)}.`,
      );
  }
  if (centres === 0)
    notes.push('No centre points: there is no pure error and curvature is weakly told.');
  return notes;
}

function rotatableWords(alpha: number, counts: CompositeCounts): string {
  const rotatable = alphaOf('rotatable', counts);
  return Math.abs(rotatable - alpha) < 1e-9 ? '' : `; rotatable would be ${round(rotatable)}`;
}

function ruleWords(alpha: number | AlphaRule | undefined, cubeBlocks: number | undefined): string {
  if (typeof alpha === 'number') return ' as asked';
  return ` (${alpha ?? (cubeBlocks === undefined ? 'rotatable' : 'orthogonal blocks')})`;
}

const round = (value: number): string => String(Number(value.toFixed(4)));
