import {
  briefing,
  currentCell,
  type FailureDirection,
  type Journal,
  type StudyState,
} from '@strandwise/core';
import {
  csvLog,
  type FailureWay,
  type VirtualLine,
  type VirtualReading,
} from '@strandwise/virtual-line';
import { attachLog } from '../reading/measured-log.ts';

/** A clock that moves only when the virtual line does. */
export interface LineClock {
  now(): number;
  advance(seconds: number): void;
}

export function lineClock(start: number): LineClock {
  let now = start;
  return {
    now: () => now,
    advance: (seconds) => {
      now += 1000 * seconds;
    },
  };
}

const directions: Readonly<Record<FailureWay, FailureDirection>> = {
  cold: 'cold',
  hot: 'hot',
  feed: 'no feed',
};

/** A small hopper charge, so that pellets do not stand open for long; common practice, no source. */
const refillMs = 60 * 60 * 1000;

export interface Rehearsal {
  readonly journal: Journal;
  readonly line: VirtualLine;
  readonly clock: LineClock;
  readonly inspectMetres?: number;
  /** Moisture of the dried pellets that the hopper is topped up with, ppm. */
  readonly driedPpm?: number;
  /** Called after each cell; may be slow, may say stop. */
  readonly onCell?: (state: StudyState) => Promise<'go on' | 'stop'> | 'go on' | 'stop';
}

/**
 * Walks a study's plan on the virtual line as an operator would: set, hold as briefed, measure,
 * count, next. Everything goes through the study's journal and the gauge's log format, so that what
 * is rehearsed is what a real walk does. A failed cell is left out with its direction.
 */
export async function rehearsedWalk(rehearsal: Rehearsal): Promise<void> {
  const { journal, line, clock, inspectMetres = 8, driedPpm, onCell } = rehearsal;
  let filledAt = clock.now();
  for (;;) {
    const brief = briefing(journal.state());
    if (!brief) return;
    const { cell, hold, refusals } = brief;
    const setPoints = cell.run.setPoints!;
    if (refusals.length > 0) {
      journal.record(
        { kind: 'cell failed', cell: cell.cell, direction: 'other', next: 'leave out' },
        refusals[0]!.says,
      );
      continue;
    }
    const holdSeconds = Math.ceil(hold.seconds);
    journal.record({ kind: 'settings entered', cell: cell.cell, setPoints, holdSeconds });
    line.set(setPoints);
    if (driedPpm !== undefined && clock.now() - filledAt >= refillMs) {
      line.refill(driedPpm, 'same');
      filledAt = clock.now();
    }
    run(line, holdSeconds, clock);
    journal.record({ kind: 'hold ended', cell: cell.cell, how: 'full', heldSeconds: holdSeconds });
    measureCell(journal, line, clock, inspectMetres);
    if ((await onCell?.(journal.state())) === 'stop') return;
  }
}

function measureCell(
  journal: Journal,
  line: VirtualLine,
  clock: LineClock,
  inspectMetres: number,
): void {
  const { line: described } = journal.state().opened;
  const cell = currentCell(journal.state())!;
  const turns = 30 * (60 / cell.run.setPoints!.screwRpm);
  const seconds = Math.ceil(Math.max(60 * described.measureMinutes, turns));
  // A strand that has not settled is measured on, up to twice, as an operator would.
  const readings: VirtualReading[] = [];
  for (let attempt = 1; ; attempt++) {
    readings.push(...run(line, seconds, clock));
    const failure = readings.find((reading) => reading.failure !== null)?.failure;
    if (failure) {
      journal.record({
        kind: 'cell failed',
        cell: cell.cell,
        direction: directions[failure],
        next: 'leave out',
      });
      return;
    }
    try {
      attachLog(
        journal,
        `cell-${cell.cell}.csv`,
        new TextEncoder().encode(csvLog(readings)),
        cell.cell,
        attempt === 3,
      );
      break;
    } catch (error) {
      if (attempt === 3 || (error as Error).name !== 'UsageError') throw error;
    }
  }
  const counted = countedBubbles(readings, inspectMetres);
  journal.record({ kind: 'bubbles counted', cell: cell.cell, ...counted });
  journal.record({ kind: 'cell finished', cell: cell.cell });
}

function run(line: VirtualLine, seconds: number, clock: LineClock): VirtualReading[] {
  const readings = Array.from({ length: seconds }, () => line.step());
  clock.advance(seconds);
  return readings;
}

/** Bubbles on the first metres of a window, as a person with a ruler counts them. */
function countedBubbles(
  readings: readonly VirtualReading[],
  inspect: number,
): { count: number; metres: number } {
  let metres = 0;
  let count = 0;
  for (const reading of readings) {
    if (metres >= inspect) break;
    metres += reading.metres;
    count += reading.bubbles;
  }
  return { count, metres: Number(metres.toFixed(3)) };
}
