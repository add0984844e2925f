import type { DesignRun } from '../../design/design.ts';
import { pointKind } from '../../design/point-kind.ts';
import { DomainError } from '../../error/domain-error.ts';
import { type Factor, isNumeric } from '../../factor/factor.ts';
import type { PlannedRun } from '../../schedule/planned-run.ts';
import { replacementRun } from '../../study/replacement-run.ts';
import { studyDefaults } from '../../study/run-table.ts';
import { freshCell, type StudyState } from '../../study/state.ts';
import { type Model, modelTerms } from '../../term/term.ts';
import { planLimits } from '../plan.ts';
import type { StatedChange } from '../stated-change.ts';
import {
  type AddedRuns,
  addedAxial,
  addedCentres,
  addedFold,
  addedReplicates,
  augmentedRuns,
  type Ground,
  placesOf,
} from './added-runs.ts';
import type { Addition, AdditionOf } from './addition.ts';
import { farthest, moved, pointAlong, shiftedFactors, steepestDirection } from './direction.ts';
import { adopted, designOfRuns, standingCells } from './standing-plan.ts';

/** What an addition comes down to before it is ordered. */
export interface Change {
  readonly factors: readonly Factor[];
  readonly model: Model;
  readonly leftOut: readonly number[];
  readonly added: AddedRuns;
  readonly says: string;
  readonly purpose: 'augment' | 'replace';
  /** True of cells that are run in the order given. */
  readonly isPath?: boolean;
  /** Runs made elsewhere, ready to run. */
  readonly readyRuns?: readonly PlannedRun[];
}

/**
 * Works out an addition: which cells, on which ranges, for which model.
 *
 * @throws {DomainError} `no_plan`, `unknown_factor`, `bad_range`, or a code of the addition
 */
export function changeFor(state: StudyState, addition: Addition, change: StatedChange): Change {
  const { factors } = state.opened;
  const { model } = adopted(state);
  const cells = standingCells(state, factors);
  const ground = groundOf(state, factors, { change, block: blockOf(addition) });
  const same = { factors, model, leftOut: [], purpose: 'augment' } as const;
  switch (addition.kind) {
    case 'centre points':
      return {
        ...same,
        added: addedCentres(ground, addition),
        says: `${addition.count} centre points`,
      };
    case 'replicates': {
      const numbers = cells.map(({ cell }) => cell.cell);
      const wanted = placesOf(addition.cells ?? numbers, numbers);
      return {
        ...same,
        added: addedReplicates(ground, wanted),
        says: addition.cells
          ? `cells ${addition.cells.join(', ')} again`
          : `all ${wanted.length} cells again`,
      };
    }
    case 'axial block':
      return {
        ...same,
        model: 'quadratic',
        added: addedAxial(ground, addition),
        says: 'axial points and centre as a new block: the corners become a composite',
      };
    case 'fold-over':
      return {
        ...same,
        added: addedFold(ground, addition),
        says: `fold-over of ${addition.reverse?.join(', ') ?? 'all factors'}${addition.keep ? `, half: ${addition.keep.factor} ${addition.keep.at}` : ''}`,
      };
    case 'bigger model':
      return biggerModel(ground, addition);
    case 'replace failed':
      return replacements(state);
    case 'move range':
      return movedRange(state, addition, change);
    case 'steepest path':
      return steepestPath(state, addition);
    case 'shift region':
      return shiftedRegion(state, addition, change);
  }
}

const blockOf = (addition: Addition): 'new' | 'same' =>
  'block' in addition ? addition.block : 'same';

const isBegun = ({ cells }: StudyState): boolean =>
  cells.some(({ status }) => status !== 'waiting' && status !== 'left out');

function groundOf(
  state: StudyState,
  factors: readonly Factor[],
  options: {
    readonly change: StatedChange;
    readonly block: 'new' | 'same';
    readonly without?: ReadonlySet<number>;
  },
): Ground {
  const { change, block, without = new Set() } = options;
  const { line, grade, product } = state.opened;
  const plan = adopted(state);
  const runs = standingCells(state, factors)
    .filter(({ cell }) => !without.has(cell.cell))
    .map(({ run }) => run);
  return {
    standing: designOfRuns(runs, factors, plan.family),
    surroundings: { line, grade, product, defaults: studyDefaults(state) },
    change,
    isNewBlock: block === 'new' && isBegun(state),
    seed: plan.seed + state.planVersion,
  };
}

function biggerModel(ground: Ground, addition: AdditionOf<'bigger model'>): Change {
  const { model, criterion, starts, wholePlots } = addition;
  const { factors, runs: standing } = ground.standing;
  const terms = modelTerms(model, factors).length;
  const runs = addition.runs ?? Math.max(4, terms + 5 - standing.length);
  const added = augmentedRuns(ground, { model, runs, wholePlots, criterion, starts });
  return {
    factors,
    model,
    leftOut: [],
    purpose: 'augment',
    added,
    says: `${added.runs.length} cells for ${typeof model === 'string' ? `the ${model} model` : `a model of ${terms} terms`}, cells that stand kept`,
  };
}

/** Replacements, each beside those before it so that plots and orders go on counting. */
function replacements(state: StudyState): Change {
  const runs: PlannedRun[] = [];
  const notes: string[] = [];
  const standIns = new Set(
    state.cells.filter(({ purpose }) => purpose === 'replace').map(({ run }) => settingsKey(run)),
  );
  let counting = state;
  for (const cell of state.cells) {
    if (cell.status !== 'failed') continue;
    const run = replacementRun(counting, cell.cell);
    if (run && standIns.has(settingsKey(run))) continue;
    if (!run) {
      notes.push(`Cell ${cell.cell} cannot be pulled in any further.`);
      continue;
    }
    runs.push(run);
    counting = {
      ...counting,
      cells: [...counting.cells, freshCell(counting.cells.length + 1, run, 'replace')],
    };
    notes.push(
      `Cell ${cell.cell} failed ${cell.failures.at(-1)?.direction ?? ''}: cell ${run.runOrder} stands in for it, nearer the centre.`,
    );
  }
  const { model } = adopted(state);
  return {
    factors: state.opened.factors,
    model,
    leftOut: [],
    purpose: 'replace',
    added: { runs: [], notes },
    readyRuns: runs,
    says: `${runs.length} cells in place of failed ones, pulled in toward the centre`,
  };
}

const settingsKey = ({ natural }: PlannedRun): string => JSON.stringify(natural);

function movedRange(
  state: StudyState,
  { factor: name, low, high, runs, block }: AdditionOf<'move range'>,
  change: StatedChange,
): Change {
  const old = state.opened.factors.find((factor) => factor.name === name);
  if (!old || !isNumeric(old)) {
    throw new DomainError(
      'unknown_factor',
      `planExtension: a range to move must be that of a numeric factor; got "${name}". Known: ${state.opened.factors
        .filter(isNumeric)
        .map((factor) => factor.name)
        .join(', ')}.`,
      { factor: name },
    );
  }
  if (!(low < high)) {
    throw new DomainError(
      'bad_range',
      `planExtension: high must exceed low; got low=${low}, high=${high} (factor "${name}"). Swap the limits.`,
      { low, high },
    );
  }
  const factors = state.opened.factors.map((factor) =>
    factor === old ? moved(old, low, high) : factor,
  );
  const unit = old.unit ? ` ${old.unit}` : '';
  const says = `${name} from ${old.low} … ${old.high} to ${low} … ${high}${unit}`;
  return rearranged(state, { factors, says, runs, block }, change);
}

/** New ranges: waiting cells outside give way, and the best new cells inside take their place. */
function rearranged(
  state: StudyState,
  wish: {
    readonly factors: readonly Factor[];
    readonly says: string;
    readonly runs: number | undefined;
    readonly block: 'new' | 'same';
  },
  change: StatedChange,
): Change {
  const { factors, says } = wish;
  const { model } = adopted(state);
  const leftOut = standingCells(state, factors)
    .filter(({ cell, run }) => cell.status === 'waiting' && isOutside(run, factors))
    .map(({ cell }) => cell.cell);
  const failed = state.cells.filter(({ status }) => status === 'failed').length;
  const runs = wish.runs ?? leftOut.length + failed;
  const ground = groundOf(state, factors, { change, block: wish.block, without: new Set(leftOut) });
  const added = augmentedRuns(ground, { model, runs, criterion: 'I', starts: 20 });
  const gone = leftOut.length > 0 ? `; ${leftOut.length} waiting cells outside give way` : '';
  return {
    factors,
    model,
    leftOut,
    purpose: 'augment',
    added,
    says: `${says}${gone}; ${added.runs.length} new cells`,
  };
}

/** Rounding may put a cell a little past ±1; a tenth of a half-range more is outside. */
const isOutside = ({ coded }: PlannedRun, factors: readonly Factor[]): boolean =>
  factors.some((factor) => isNumeric(factor) && Math.abs(Number(coded[factor.name])) > 1.1);

function steepestPath(state: StudyState, addition: AdditionOf<'steepest path'>): Change {
  const { factors, line, grade, product } = state.opened;
  const { model } = adopted(state);
  const direction = steepestDirection(state, addition.response);
  const constraints = planLimits(factors, { line, grade, product, defaults: studyDefaults(state) });
  const wanted = addition.steps * addition.stride;
  const end = farthest(direction, wanted, { factors, constraints });
  const runs = Array.from({ length: addition.steps }, (_, i): DesignRun => {
    const coded = pointAlong(direction, (end * (i + 1)) / addition.steps, factors);
    return {
      coded,
      kind: pointKind(coded, factors),
      block:
        Math.max(1, ...state.cells.map(({ run }) => run.block)) +
        (addition.block === 'new' && isBegun(state) ? 1 : 0),
      wholePlot: null,
      subWholePlot: null,
    };
  });
  const notes = [
    `Direction in half-ranges: ${direction.words}.`,
    ...(end < wanted - 1e-9
      ? [
          `The limits end the path at ${end.toFixed(2)} half-ranges; ${wanted.toFixed(2)} were asked.`,
        ]
      : []),
    'Stop where the response no longer improves, and shift the region there.',
  ];
  return {
    factors,
    model,
    leftOut: [],
    purpose: 'augment',
    added: { runs, notes },
    isPath: true,
    says: `${addition.steps} cells along the steepest improvement of ${addition.response}`,
  };
}

function shiftedRegion(
  state: StudyState,
  { response, by, runs, block }: AdditionOf<'shift region'>,
  change: StatedChange,
): Change {
  const { factors, line, grade, product } = state.opened;
  const direction = steepestDirection(state, response);
  const constraints = planLimits(factors, { line, grade, product, defaults: studyDefaults(state) });
  const distance = farthest(direction, by, { factors, constraints });
  const shifted = shiftedFactors(factors, direction, distance);
  const says = `ranges shifted by ${distance.toFixed(2)} half-ranges along the steepest improvement of ${response} (${direction.words})`;
  const terms = modelTerms(adopted(state).model, shifted).length;
  return rearranged(
    state,
    { factors: shifted, says, runs: runs ?? Math.ceil(terms / 2) + 2, block },
    change,
  );
}
