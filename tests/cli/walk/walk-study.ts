import {
  type Happening,
  type Journal,
  openJournal,
  type PlannedRun,
  type StudyStore,
} from '@strandwise/core';
import { memoryStudyStore } from '@strandwise/store';
import type { LiveView } from '../../../packages/cli/src/reading/live-recorder.ts';
import { type SteadyClock, steadyClock } from '../../../packages/cli/src/reading/steady-clock.ts';
import { type WalkSession, walkSession } from '../../../packages/cli/src/screen/walk/session.ts';
import { entry, exampleRun, openedStudy } from '../../core/study/example-study.ts';
import { pressAll } from './press.ts';

/** A clock that a test moves. */
export interface HandClock {
  readonly steady: SteadyClock;
  /** What counts on whatever happens; ms. */
  readonly ticks: () => number;
  pass(seconds: number): void;
  /** The wall clock alone moves: set by hand, or the computer slept. */
  jump(seconds: number): void;
}

export function handClock(startMs = Date.UTC(2026, 0, 5, 9), notBefore = 0): HandClock {
  let wall = startMs;
  let ticks = 0;
  return {
    steady: steadyClock({ now: () => wall }, () => ticks, notBefore),
    ticks: () => ticks,
    pass(seconds) {
      wall += 1000 * seconds;
      ticks += 1000 * seconds;
    },
    jump(seconds) {
      wall += 1000 * seconds;
    },
  };
}

export const invented = (
  order: number,
  level: number,
  screwRpm: number,
  fanPercent: number,
): PlannedRun => {
  const zones = [-15, 2, 8, 5].map((offset) => level + offset);
  return {
    ...exampleRun(order),
    wholePlot: Math.ceil(order / 2),
    coded: { level: (level - 195) / 10, screw: (screwRpm - 4.5) / 1.5 },
    natural: { level, screw: screwRpm },
    setPoints: { zonesCelsius: zones, screwRpm, fanPercent, other: {} },
  };
};

/** Six invented cells in three zone settings. */
export const sixCells: Happening = {
  kind: 'plan adopted',
  plan: {
    family: 'full factorial',
    model: 'main',
    seed: 1,
    order: 'within-plots',
    runs: [
      invented(1, 190, 3, 50),
      invented(2, 190, 6, 50),
      invented(3, 200, 3, 50),
      invented(4, 200, 6, 50),
      invented(5, 195, 4.5, 50),
      invented(6, 195, 4.5, 75),
    ],
    hours: 3,
    grams: 300,
    notes: [],
  },
};

export const checked: Happening = {
  kind: 'checks confirmed',
  items: ['papers and people'],
  barrelHolds: 'PX-31 (invented)',
  driedHours: 4,
  hoursSinceDrying: 0,
};

export interface Walk {
  readonly journal: Journal;
  readonly clock: HandClock;
  session: WalkSession;
  /** Presses keys: words of one letter, or `enter`, `esc`, `back`, `space`; "…" is typed as it is. */
  press(keys: string): void;
}

/** A walk in memory, with the checks done unless told otherwise. */
export function startedWalk({
  isChecked = true,
  store = memoryStudyStore(),
  clock = handClock(),
}: {
  isChecked?: boolean;
  store?: StudyStore;
  clock?: HandClock;
} = {}): Walk {
  if (store.events().length === 0) {
    const all = [openedStudy, sixCells, ...(isChecked ? [checked] : [])];
    store.append(
      all.map((what, i) => entry(what, 30 + i)),
      0,
    );
  }
  const journal = openJournal(store, clock.steady, 'Robin');
  const session = walkSession({
    journal,
    clock: clock.steady,
    ticking: clock.ticks,
    attachLog: (path) => `read ${path}`,
  });
  const walk: Walk = { journal, clock, session, press: (keys) => pressAll(walk.session, keys) };
  return walk;
}

/** A gauge that is well, as a test wants to show it. */
export const quietGauge: LiveView = {
  place: '127.0.0.1:4001',
  trouble: null,
  isHeard: true,
  diameterMm: 1.748,
  perSecond: 1,
  lastMinute: Float64Array.from({ length: 60 }, (_, i) => 1.75 + 0.01 * Math.sin(i / 3)),
  lights: null,
  window: null,
  unparsed: 0,
  keptLines: 0,
};
