import {
  confirmationRuns,
  confirmationVerdict,
  DomainError,
  type PlannedRun,
  type StudyState,
} from '@strandwise/core';
import { fixed, type NextRuns, type Table, withUnit } from '@strandwise/report';
import { boundsOf } from './confirmation.ts';
import type { PagedStudy } from './paged-study.ts';
import { counted, tiedUnits } from './sentence.ts';
import { type SetPointKey, setPointKeys } from './setting.ts';

/** Fresh set-ups where nothing says how many it takes; common practice, no source. */
const fewestSetUps = 3;

/** At most so many cells are named that the recommendation hangs on. */
const mostInfluences = 3;
/** A cell that moves no set point by this share of its range moves nothing worth a word; common practice. */
const notableShare = 0.1;

/** What to run next: the first thing to do, then every step by what it is expected to bring. */
export function nextPart(study: PagedStudy): NextRuns | null {
  const first = firstOf(study);
  const steps = study.next.map(({ says }) => tiedUnits(says));
  if (first === null && steps.length === 0) return null;
  return {
    ...(first ?? { sentence: 'The recipe is released. What further runs could bring:' }),
    ...(steps.length > 0 ? { steps } : {}),
    influences: influenceWords(study),
  };
}

function influenceWords({ influences }: PagedStudy): string[] {
  if (influences.length === 0) return [];
  const notable = influences.filter(({ largestShare }) => largestShare >= notableShare);
  return notable.length === 0
    ? ['Whichever single cell is left out, the best settings hardly move.']
    : notable.slice(0, mostInfluences).map(({ says }) => tiedUnits(says));
}

function firstOf(study: PagedStudy): NextRuns | null {
  const { state, found, recipe } = study;
  if (state.plan === null)
    return {
      sentence: 'Adopt a plan first: strandwise plan shows what each would cost and could tell.',
    };
  if (state.queue.length > 0) return restOfPlan(state);
  if (state.released) return null;
  if (!recipe && state.cells.some(({ status }) => status === 'done'))
    return {
      sentence:
        'Widen the ranges, add cells, or measure something else as well: over what was run, nothing that is wanted differs from setting to setting.',
    };
  if (!recipe)
    return {
      sentence:
        'Move the ranges to where a strand formed, or nearest to it, and plan again: scouting steps find them in fewer runs than a plan.',
    };
  if (found.kind === 'nowhere acceptable')
    return {
      sentence:
        'Move the ranges towards the nearest miss, or ask less of the product, and plan again: inside these ranges no setting does what is wanted.',
    };
  return confirmation(study);
}

function restOfPlan(state: StudyState): NextRuns {
  const left = state.queue.map((cell) => state.cells[cell - 1]!);
  const hours = left.reduce((sum, { run }) => sum + (run.holdSeconds ?? 0), 0) / 3600;
  const measuring = (left.length * state.opened.line.measureMinutes) / 60;
  const runs = left.map(({ cell, run }) => ({ cell, run }));
  return {
    sentence: `Walk on: ${counted(left.length, 'cell')} of the plan ${left.length === 1 ? 'is' : 'are'} left, about ${withUnit(fixed(hours + measuring, 1), 'h')}.`,
    table: cellTable(
      'Cells still to do',
      runs,
      setPointKeys(state.opened.line, state.opened.factors),
    ),
  };
}

function confirmation(study: PagedStudy): NextRuns {
  const recipe = study.recipe!;
  const bounds = boundsOf(study, recipe);
  const verdict = bounds && confirmationVerdict(study.predictor, recipe.setPoints, bounds);
  if (verdict && verdict.kind !== 'not yet')
    return {
      sentence:
        verdict.kind === 'holds'
          ? 'The recipe held in fresh set-ups: release it.'
          : `Follow up what the fresh set-ups showed before anything else: ${verdict.says}`,
    };
  const best = study.next[0];
  // Fresh set-ups of a recipe that other runs would mend first tell little.
  if (best && best.kind !== 'confirm' && best.kind !== 'stop')
    return { sentence: 'By what each is expected to bring to the chance per hour, best first:' };
  return confirmingSetUps(study, bounds?.setUps ?? fewestSetUps, bounds?.says);
}

function confirmingSetUps(study: PagedStudy, setUps: number, says?: string): NextRuns {
  const { state } = study;
  const how =
    says ??
    `${setUps} fresh set-ups, each reached from somewhere else, would show whether it holds.`;
  const runs = confirmingRuns(study, setUps);
  return {
    sentence: `Confirm the recipe. ${how}`,
    ...(runs.length === 0
      ? {}
      : {
          table: cellTable(
            'Cells of the confirmation',
            runs.map((run, i) => ({ cell: i + 1, run })),
            setPointKeys(state.opened.line, state.opened.factors),
          ),
        }),
  };
}

/** The cells that confirm a recipe; none when there is nowhere beside it to come from. */
function confirmingRuns({ state, recipe }: PagedStudy, setUps: number): PlannedRun[] {
  const { setPoints, natural } = recipe!;
  const proposed = {
    kind: 'recipe proposed' as const,
    setPoints,
    natural: { ...natural },
    says: [],
  };
  try {
    return confirmationRuns({ ...state, recipe: proposed }, setUps).flatMap(({ runs }) => runs);
  } catch (error) {
    if (error instanceof DomainError) return [];
    throw error;
  }
}

/** Cells with what to key in, for the page and for export. */
export function cellTable(
  caption: string,
  cells: readonly { readonly cell: number; readonly run: PlannedRun }[],
  keys: readonly SetPointKey[],
): Table {
  return {
    caption,
    columns: [
      { head: 'cell', holds: 'numbers' },
      ...keys.map(({ name, unit }) => ({
        head: unit === undefined ? name : `${name} in\u00a0${unit}`,
        holds: 'numbers' as const,
      })),
      { head: 'hold in\u00a0min', holds: 'numbers' },
    ],
    rows: cells.map(({ cell, run: { setPoints, holdSeconds } }) => [
      String(cell),
      ...keys.map(({ value, decimals }) => {
        const at = setPoints ? value(setPoints) : '—';
        return typeof at === 'number' ? { shown: fixed(at, decimals), exported: at } : at;
      }),
      holdSeconds === null
        ? '—'
        : { shown: fixed(holdSeconds / 60, 0), exported: holdSeconds / 60 },
    ]),
  };
}
