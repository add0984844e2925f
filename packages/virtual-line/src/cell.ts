import type { GaugeLog, SetPoints } from '@strandwise/core';
import { logColumns } from './gauge-log.ts';
import type { FailureWay, VirtualLine } from './virtual-line.ts';

/** What an operator brings back from a cell. */
export interface CellOutcome {
  readonly setPoints: SetPoints;
  /** Log of the measuring window alone. */
  readonly log: GaugeLog;
  readonly metres: number;
  /** Counts on the inspected metres of the window. */
  readonly inspectedMetres: number;
  readonly bubbles: number;
  readonly unmelted: number;
  /** What went wrong first in the window; null when a strand ran through. */
  readonly failure: FailureWay | null;
}

/**
 * Runs one cell of a plan: key in, hold, measure, count on the first metres of the window.
 *
 * @param inspectMetres - length looked at for bubbles and unmelted grains; the whole window at most
 */
export function runCell(
  virtual: VirtualLine,
  {
    setPoints,
    holdSeconds,
    measureSeconds = 480,
    inspectMetres = 5,
  }: {
    readonly setPoints: SetPoints;
    readonly holdSeconds: number;
    readonly measureSeconds?: number;
    readonly inspectMetres?: number;
  },
): CellOutcome {
  virtual.set(setPoints);
  for (let i = 0; i < holdSeconds; i++) virtual.step();
  const readings = Array.from({ length: measureSeconds }, () => virtual.step());
  let metres = 0;
  let inspectedMetres = 0;
  let bubbles = 0;
  let unmelted = 0;
  for (const reading of readings) {
    metres += reading.metres;
    if (inspectedMetres >= inspectMetres) continue;
    inspectedMetres += reading.metres;
    bubbles += reading.bubbles;
    unmelted += reading.unmelted;
  }
  const failure = readings.find((reading) => reading.failure !== null)?.failure ?? null;
  return {
    setPoints,
    log: logColumns(readings),
    metres,
    inspectedMetres,
    bubbles,
    unmelted,
    failure,
  };
}
