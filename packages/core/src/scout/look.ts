import type { CellOutcome } from '../fit/feasibility.ts';
import type { HappeningOf, StrandLook } from '../study/event.ts';

/** One step of scouting as recorded. */
export type ScoutStep = Omit<HappeningOf<'scout step'>, 'kind'>;

/** Every look, cold to hot, with the words an operator chooses by. */
export const strandLooks: readonly { readonly look: StrandLook; readonly says: string }[] = [
  { look: 'unmelted', says: 'grains in the strand, torque alarm or stall: no strand' },
  { look: 'stiff', says: 'a strand, but rough, stiff or with some grains' },
  { look: 'holds shape', says: 'smooth and round, can be threaded, keeps its diameter' },
  { look: 'soft', says: 'a strand, but it sags, necks or flattens at the puller' },
  { look: 'runs', says: 'drips or tears, cannot be threaded: no strand' },
  { look: 'no feed', says: 'pellets bridge or the screw starves: no strand' },
];

const warmths: Readonly<Record<StrandLook, number>> = {
  unmelted: -2,
  stiff: -1,
  'holds shape': 0,
  soft: 1,
  runs: 2,
  // Pellets that soften in the throat bridge: what feeds badly there is too hot.
  'no feed': 2,
};

/** How far on the hot side a look is: −2 unmelted, 0 as wanted, 2 runs. */
export const warmthOf = (look: StrandLook): number => warmths[look];

/** True when a strand came, good or not. */
export const makesStrand = (look: StrandLook): boolean => outcomeOf(look) === 'runs';

/** The look as the feasibility model knows it. */
export function outcomeOf(look: StrandLook): CellOutcome {
  if (look === 'unmelted') return 'cold';
  if (look === 'runs') return 'hot';
  return look === 'no feed' ? 'no feed' : 'runs';
}
