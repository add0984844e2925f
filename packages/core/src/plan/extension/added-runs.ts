import { withAxialBlock } from '../../design/augment/axial-block.ts';
import { withCentrePoints } from '../../design/augment/centre-points.ts';
import { foldOver } from '../../design/augment/fold-over.ts';
import type { Design, DesignRun } from '../../design/design.ts';
import { optimalDesign } from '../../design/optimal/optimal-design.ts';
import { foundDesign } from '../../design/optimal/optimal-family.ts';
import type { OptimalProblem, RunStructure } from '../../design/optimal/problem.ts';
import { DomainError } from '../../error/domain-error.ts';
import type { Factor } from '../../factor/factor.ts';
import { type Model, modelTerms } from '../../term/term.ts';
import { type PlanSurroundings, planLimits } from '../plan.ts';
import type { StatedChange } from '../stated-change.ts';
import type { AdditionOf } from './addition.ts';

/** What the cells to add depend on. */
export interface Ground {
  /** Cells that stand, coded on the ranges as they will be. */
  readonly standing: Design;
  readonly surroundings: PlanSurroundings;
  readonly change: StatedChange;
  /** True for cells that are a block of their own. */
  readonly isNewBlock: boolean;
  readonly seed: number;
}

/** Cells to add, in design order, with block and plots numbered after those that stand. */
export interface AddedRuns {
  readonly runs: readonly DesignRun[];
  readonly notes: readonly string[];
}

const lastBlock = ({ runs }: Design): number => Math.max(1, ...runs.map(({ block }) => block));
export const nextBlock = ({ standing, isNewBlock }: Ground): number =>
  lastBlock(standing) + (isNewBlock ? 1 : 0);

export function addedCentres(ground: Ground, { count }: AdditionOf<'centre points'>): AddedRuns {
  const bare: Design = { ...ground.standing, runs: [] };
  const { runs, notes } = withCentrePoints(bare, count, 'new block');
  return { runs: inBlock(runs, nextBlock(ground)), notes };
}

export function addedReplicates(ground: Ground, wanted: readonly number[]): AddedRuns {
  const { runs } = ground.standing;
  const plots = Math.max(0, ...runs.map(({ wholePlot }) => wholePlot ?? 0));
  const subPlots = Math.max(0, ...runs.map(({ subWholePlot }) => subWholePlot ?? 0));
  const again = wanted.map((at) => runs[at]!);
  return {
    runs: again.map((run) => ({
      ...run,
      block: nextBlock(ground),
      wholePlot: run.wholePlot === null ? null : run.wholePlot + plots,
      subWholePlot: run.subWholePlot === null ? null : run.subWholePlot + subPlots,
    })),
    notes: [`${again.length} cells are run again, set anew: repeats give pure error.`],
  };
}

export function addedAxial(
  ground: Ground,
  { alpha, centrePoints }: AdditionOf<'axial block'>,
): AddedRuns {
  const { standing, surroundings } = ground;
  const constraints = planLimits(standing.factors, surroundings);
  const after = withAxialBlock(standing, { alpha, centrePoints, constraints });
  return added(after, ground);
}

export function addedFold(ground: Ground, { reverse, keep }: AdditionOf<'fold-over'>): AddedRuns {
  const after = foldOver(ground.standing, {
    ...(reverse ? { reverse } : {}),
    ...(keep ? { keep } : {}),
  });
  return added(after, ground);
}

function added(after: Design, ground: Ground): AddedRuns {
  const runs = after.runs.slice(ground.standing.runs.length);
  return { runs: inBlock(runs, nextBlock(ground)), notes: after.notes };
}

const inBlock = (runs: readonly DesignRun[], block: number): DesignRun[] =>
  runs.map((run) => ({ ...run, block }));

/** How the best new cells are looked for. */
export interface AugmentWish {
  readonly model: Model;
  readonly runs: number;
  readonly wholePlots?: number | undefined;
  readonly criterion: 'D' | 'A' | 'I';
  readonly starts: number;
}

/**
 * The best new cells for a model, those that stand kept as they are.
 *
 * @throws {DomainError} with the kinds of refusal of the optimal search
 */
export function augmentedRuns(ground: Ground, wish: AugmentWish): AddedRuns {
  const { standing, surroundings, seed } = ground;
  const { factors } = standing;
  if (wish.runs < 1) return { runs: [], notes: [] };
  const problem: OptimalProblem = {
    factors,
    terms: modelTerms(wish.model, factors),
    criterion: wish.criterion,
    structure: structureFor(ground, wish),
    constraints: planLimits(factors, surroundings),
    included: standing.runs.map(({ coded, block, wholePlot, subWholePlot }) => ({
      coded,
      block,
      wholePlot,
      subWholePlot,
    })),
    seed,
  };
  const { runs, notes } = foundDesign(optimalDesign(problem, { starts: wish.starts }));
  return { runs: runs.slice(standing.runs.length), notes };
}

/** New cells are a split plot where the plan is one and hard factors can stay put. */
function structureFor(ground: Ground, { runs, wholePlots }: AugmentWish): RunStructure {
  const { standing, change } = ground;
  const blocks = nextBlock(ground);
  const sized = (total: number): number[] => [...new Array<number>(blocks - 1).fill(0), total];
  const hasPlots = standing.runs.some(({ wholePlot }) => wholePlot !== null);
  const plots = wholePlots ?? Math.max(1, Math.round(runs / 3));
  if (!hasPlots || !isSplittable(standing.factors)) {
    return { kind: 'runs', runs, blocks: sized(runs) };
  }
  return {
    kind: 'split-plot',
    wholePlots: plots,
    cells: Math.max(1, Math.ceil(runs / plots)),
    varianceRatio: change.plotRatio,
    blocks: sized(plots),
    minimumWholePlotDf: 0,
  };
}

const isSplittable = (factors: readonly Factor[]): boolean =>
  factors.some(({ changes }) => changes === 'hard') &&
  factors.some(({ changes }) => changes !== 'hard');

/** Places of the named cells among those that stand. @throws {DomainError} `unknown_cell` */
export function placesOf(cells: readonly number[], standing: readonly number[]): number[] {
  return cells.map((cell) => {
    const at = standing.indexOf(cell);
    if (at >= 0) return at;
    throw new DomainError(
      'unknown_cell',
      `extension: a cell to repeat must stand in the plan; got ${cell}. Cells that stand: ${standing.slice(0, 12).join(', ')}${standing.length > 12 ? ', …' : ''}.`,
      { cell },
    );
  });
}
