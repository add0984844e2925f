import type { DesignRun } from '../../design/design.ts';
import { pointKind } from '../../design/point-kind.ts';
import { DomainError } from '../../error/domain-error.ts';
import { type Factor, isNumeric } from '../../factor/factor.ts';
import type { PlannedRun } from '../../schedule/planned-run.ts';
import { studyDefaults } from '../../study/run-table.ts';
import type { StudyState } from '../../study/state.ts';
import { modelTerms } from '../../term/term.ts';
import { planLimits } from '../plan.ts';
import type { StatedChange } from '../stated-change.ts';
import { augmentedRuns } from './added-runs.ts';
import type { AdditionOf } from './addition.ts';
import { farthest, moved, pointAlong, shiftedFactors, steepestDirection } from './direction.ts';
import { type Change, groundOf, isBegun } from './ground.ts';
import { adopted, standingCells } from './standing-plan.ts';

/** The change of a moved range. */
export function movedRange(
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

/** The change of a path of steepest improvement. */
export function steepestPath(state: StudyState, addition: AdditionOf<'steepest path'>): Change {
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

/** The change of a shifted region. */
export function shiftedRegion(
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
