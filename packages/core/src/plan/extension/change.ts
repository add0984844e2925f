import type { PlannedRun } from '../../schedule/planned-run.ts';
import { replacementRun } from '../../study/replacement-run.ts';
import { freshCell, type StudyState } from '../../study/state.ts';
import { modelTerms } from '../../term/term.ts';
import type { StatedChange } from '../stated-change.ts';
import {
  addedAxial,
  addedCentres,
  addedFold,
  addedReplicates,
  augmentedRuns,
  type Ground,
  placesOf,
} from './added-runs.ts';
import type { Addition, AdditionOf } from './addition.ts';
import { type Change, groundOf } from './ground.ts';
import { movedRange, shiftedRegion, steepestPath } from './moved-region.ts';
import { adopted, standingCells } from './standing-plan.ts';

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
