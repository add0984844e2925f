import {
  adoptedPlan,
  type Factor,
  type Journal,
  type Line,
  openedFrom,
  openJournal,
  type PlanRequest,
  planOf,
  type Response,
  StudyDescription,
  studyDefaults,
} from '@strandwise/core';
import { memoryStudyStore } from '@strandwise/store';
import { demoScenario, VirtualLine } from '@strandwise/virtual-line';
import { lineClock, rehearsedWalk } from '../../../packages/cli/src/rehearsal/rehearsed-walk.ts';

// Invented grade, lines and data; the walk is core's and the command's own, on the virtual line.

const start = Date.UTC(2026, 0, 5, 7);

export interface StudyOf {
  readonly factors?: readonly Factor[];
  readonly line?: Line;
  readonly responses?: readonly Response[];
  readonly fixed?: Readonly<Record<string, number>>;
  readonly seed?: number;
}

/** A study that has only been opened. */
export function openedStudy({ factors, line, responses, fixed, seed = 3 }: StudyOf = {}): Journal {
  const clock = lineClock(start);
  const description = StudyDescription.parse({
    name: 'PX-31, a small study',
    invented: true,
    grade: demoScenario.grade,
    line: line ?? demoScenario.line,
    product: demoScenario.product,
    factors: factors ?? demoScenario.factors,
    ...(responses ? { responses } : {}),
    ...(fixed ? { fixed } : {}),
    seed,
  });
  const store = memoryStudyStore();
  store.append(
    [{ at: new Date(clock.now()).toISOString(), who: 'scientist', what: openedFrom(description) }],
    0,
  );
  return openJournal(store, clock, 'scientist');
}

/** Adopts a plan for an opened study. */
export function withPlan(
  journal: Journal,
  wish: Pick<PlanRequest, 'family' | 'model'> & Pick<Partial<PlanRequest>, 'options'>,
): Journal {
  const state = journal.state();
  const { factors, line, grade, product, seed } = state.opened;
  const plan = planOf({
    factors,
    seed,
    ...wish,
    surroundings: { line, grade, product, defaults: studyDefaults(state) },
  });
  journal.record({ kind: 'plan adopted', plan: adoptedPlan(plan) });
  return journal;
}

/** Walks at most so many cells of the plan on the virtual line. */
export async function walked(journal: Journal, most = Number.POSITIVE_INFINITY): Promise<Journal> {
  const { opened, cells } = journal.state();
  journal.signAs('operator');
  journal.record({
    kind: 'checks confirmed',
    items: ['rehearsal on the virtual line'],
    barrelHolds: 'clean',
    driedHours: 4,
    hoursSinceDrying: 0,
  });
  const line = new VirtualLine({
    line: opened.line,
    grade: demoScenario.virtualGrade,
    product: opened.product,
    seed: opened.seed,
    setPoints: cells[0]!.run.setPoints!,
    moisturePpm: demoScenario.driedPpm,
  });
  let done = 0;
  await rehearsedWalk({
    journal,
    line,
    clock: lineClock(start + 3.6e6),
    driedPpm: demoScenario.driedPpm,
    onCell: () => (++done >= most ? 'stop' : 'go on'),
  });
  return journal;
}

/** Walks every cell into the same failure, without a line. */
export function failed(journal: Journal): Journal {
  journal.signAs('operator');
  for (const { cell, run } of journal.state().cells) {
    journal.record({
      kind: 'settings entered',
      cell,
      setPoints: run.setPoints!,
      holdSeconds: 600,
    });
    journal.record({ kind: 'hold ended', cell, how: 'full', heldSeconds: 600 });
    journal.record({ kind: 'cell failed', cell, direction: 'cold', next: 'leave out' });
  }
  return journal;
}

/** Walks every cell by typing one value of each response, without a line. */
export function typed(
  journal: Journal,
  value: (natural: Record<string, number | string>) => number,
): Journal {
  journal.signAs('operator');
  for (const { cell, run } of journal.state().cells) {
    journal.record({ kind: 'settings entered', cell, setPoints: run.setPoints!, holdSeconds: 600 });
    journal.record({ kind: 'hold ended', cell, how: 'full', heldSeconds: 600 });
    for (const { name } of journal.state().opened.responses)
      journal.record({ kind: 'value entered', cell, response: name, value: value(run.natural) });
    journal.record({ kind: 'cell finished', cell });
  }
  return journal;
}
