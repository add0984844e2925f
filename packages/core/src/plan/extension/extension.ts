import type { DesignRun } from '../../design/design.ts';
import { DomainError } from '../../error/domain-error.ts';
import { orderedPlan } from '../../schedule/ordered-plan.ts';
import type { PlannedRun } from '../../schedule/planned-run.ts';
import { walkedPlots } from '../../schedule/walked-plots.ts';
import { lastSetPoints } from '../../study/briefing.ts';
import type { Happening } from '../../study/event.ts';
import { studyDefaults } from '../../study/run-table.ts';
import type { StudyState } from '../../study/state.ts';
import { planProperties } from '../assess.ts';
import type { PlanProperties } from '../plan-properties.ts';
import { type StatedChange, usualChange } from '../stated-change.ts';
import { Addition, type AdditionInput } from './addition.ts';
import { changeFor } from './change.ts';
import type { Change } from './ground.ts';
import { adopted, planOfRuns, standingCells, standingRequest } from './standing-plan.ts';

/** A plan changed half-way: what to record, and what it changes. */
export interface Extension {
  /** Events to record in this order; the past is not touched. */
  readonly happenings: readonly Happening[];
  readonly runs: readonly PlannedRun[];
  /** Waiting cells that give way, by number. */
  readonly leftOut: readonly number[];
  readonly before: PlanProperties;
  readonly after: PlanProperties;
  /**
   * The plan as it will be, on the model that could be told before: what is fair to hold against
   * `before`. A larger model asks more of the same cells, so `after` may look worse than it is. Null
   * when the model told is the same.
   */
  readonly afterOnSameModel: PlanProperties | null;
  /** Hours and grams of the new cells alone, less those of cells that give way. */
  readonly hours: number;
  readonly grams: number;
  readonly says: string;
  readonly notes: readonly string[];
}

/**
 * Extends the plan of a study: new cells after those that stand, a moved range, or both, with the
 * properties before and after on the same model.
 *
 * @throws {DomainError} `no_plan`, `nothing_to_add`, `unknown_factor`, or a code of the addition
 */
export function planExtension(
  state: StudyState,
  input: AdditionInput,
  change: StatedChange = usualChange(state.opened.factors),
): Extension {
  const plan = adopted(state);
  const addition = Addition.parse(input);
  const made = changeFor(state, addition, change);
  const { factors, model, leftOut } = made;
  const gone = new Set(leftOut);
  const standing = standingCells(state, factors);
  const kept = standing.filter(({ cell }) => !gone.has(cell.cell)).map(({ run }) => run);
  const runs = made.readyRuns ?? orderedRuns(state, made);
  const hasMoved = factors.some((factor, i) => factor !== state.opened.factors[i]);
  if (runs.length === 0 && !hasMoved) {
    throw new DomainError(
      'nothing_to_add',
      `planExtension: the addition must bring cells or move a range; got neither ("${addition.kind}"). ${addition.kind === 'replace failed' ? 'No failed cell is without its replacement.' : 'Ask for more cells.'}`,
    );
  }
  const request = standingRequest(state, factors, model);
  const told = (list: readonly PlannedRun[]) => planOfRuns(request, list, plan.order);
  const before = told(standing.map(({ run }) => run));
  const after = told([...kept, ...runs]);
  const toldBefore = planProperties(before, change);
  const toldAfter = planProperties(after, change);
  return {
    happenings: happeningsOf(state, made, runs, hasMoved),
    runs,
    leftOut,
    before: toldBefore,
    after: toldAfter,
    afterOnSameModel: isSameModel(toldBefore, toldAfter)
      ? null
      : planProperties(after, change, toldBefore.assessed),
    hours: (after.ordered.hours ?? 0) - (before.ordered.hours ?? 0),
    grams: (after.ordered.grams ?? 0) - (before.ordered.grams ?? 0),
    says: made.says,
    notes: made.added.notes,
  };
}

const isSameModel = (before: PlanProperties, after: PlanProperties): boolean =>
  JSON.stringify(before.assessed) === JSON.stringify(after.assessed);

/** New cells in order, numbered on from those of the study, reached from where the line will stand. */
function orderedRuns(state: StudyState, made: Change): PlannedRun[] {
  const { runs } = made.added;
  if (runs.length === 0) return [];
  const { line, grade, product } = state.opened;
  const { factors } = made;
  const from = state.cells.findLast(({ status }) => status === 'waiting')?.run.setPoints;
  const at = from ?? lastSetPoints(state, 0);
  const hasPlots = state.cells.some(({ run }) => run.wholePlot !== null);
  const design = {
    family: adopted(state).family,
    factors,
    runs: numberedBlocks(runs, made.isPath === true),
    notes: [],
  };
  const ordered = orderedPlan({
    design,
    order: hasPlots ? 'within-plots' : 'complete',
    seed: adopted(state).seed + state.planVersion,
    line,
    grade,
    product,
    defaults: studyDefaults(state),
    ...holdRulePart(state),
    start: at ? { kind: 'at', setPoints: at } : { kind: 'cold', roomCelsius: 23, soakMinutes: 20 },
  });
  const walked = hasPlots ? walkedPlots(ordered.runs, factors) : ordered.runs;
  return renumbered(walked, runs, state);
}

const holdRulePart = (state: StudyState) => {
  const { holdRule } = adopted(state);
  return holdRule ? { holdRule } : {};
};

/** A path keeps its order: each step is a block of its own while it is ordered. */
const numberedBlocks = (runs: readonly DesignRun[], isPath: boolean): DesignRun[] =>
  runs.map((run, i) => ({ ...run, block: isPath ? i + 1 : run.block }));

function renumbered(
  ordered: readonly PlannedRun[],
  added: readonly DesignRun[],
  state: StudyState,
): PlannedRun[] {
  const largest = (plot: 'wholePlot' | 'subWholePlot'): number =>
    Math.max(0, ...state.cells.map(({ run }) => run[plot] ?? 0));
  const [plots, subPlots] = [largest('wholePlot'), largest('subWholePlot')];
  const offset = state.cells.length;
  return ordered.map((run) => ({
    ...run,
    runOrder: offset + run.runOrder,
    designOrder: offset + run.designOrder,
    block: added[run.designOrder - 1]!.block,
    wholePlot: run.wholePlot === null ? null : plots + run.wholePlot,
    subWholePlot: run.subWholePlot === null ? null : subPlots + run.subWholePlot,
  }));
}

function happeningsOf(
  state: StudyState,
  { factors, model, leftOut, purpose, says }: Change,
  runs: readonly PlannedRun[],
  hasMoved: boolean,
): Happening[] {
  const out: Happening[] = [];
  if (hasMoved) out.push({ kind: 'ranges changed', factors: [...factors], says });
  if (runs.length > 0) {
    const isBigger = JSON.stringify(model) !== JSON.stringify(adopted(state).model);
    out.push({
      kind: 'plan extended',
      purpose,
      runs: [...runs],
      says,
      ...(isBigger ? { model } : {}),
      ...(leftOut.length > 0 ? { leftOut: [...leftOut] } : {}),
    });
  }
  return out;
}
