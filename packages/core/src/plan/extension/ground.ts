import type { Factor } from '../../factor/factor.ts';
import type { PlannedRun } from '../../schedule/planned-run.ts';
import { studyDefaults } from '../../study/run-table.ts';
import type { StudyState } from '../../study/state.ts';
import type { Model } from '../../term/term.ts';
import type { StatedChange } from '../stated-change.ts';
import type { AddedRuns, Ground } from './added-runs.ts';
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

/** True once a cell has been started. */
export const isBegun = ({ cells }: StudyState): boolean =>
  cells.some(({ status }) => status !== 'waiting' && status !== 'left out');

/** What cells to add depend on, for ranges as they will be. */
export function groundOf(
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
