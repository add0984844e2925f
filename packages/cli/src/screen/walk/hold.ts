import type { Happening, LightsSeen } from '@strandwise/core';
import { recorded, type WalkDeed, type WalkFacts } from './screen.ts';

/** Seconds held since the settings of the present cell were entered. */
export function heldSeconds({ briefing, nowMs }: Pick<WalkFacts, 'briefing' | 'nowMs'>): number {
  const cell = briefing?.cell;
  if (!cell?.enteredAt) return 0;
  return Math.max(0, (nowMs - Date.parse(cell.enteredAt)) / 1000 - cell.uncountedSeconds);
}

/** Whether the hold is over, by the gauge's three lights when it is heard, else by the clock. */
export interface HoldState {
  readonly isOver: boolean;
  readonly by: 'gauge' | 'clock';
  readonly held: number;
  readonly wanted: number;
  /** Best guess of what is left; 0 when over, null when nobody can tell. */
  readonly leftSeconds: number | null;
  readonly lights: LightsSeen | null;
}

const GRACE_MS = 120_000;

export function holdState(facts: WalkFacts): HoldState {
  const { briefing, live, settledMs, nowMs } = facts;
  const held = heldSeconds(facts);
  const wanted = briefing?.cell.holdSeconds ?? briefing?.hold.seconds ?? 0;
  const byClock = Math.max(0, wanted - held);
  const lights = live?.trouble === null ? live.lights : null;
  if (!briefing || !lights) {
    return {
      isOver: held >= wanted,
      by: 'clock',
      held,
      wanted,
      leftSeconds: byClock,
      lights: null,
    };
  }
  // The strand on its way to the gauge, and the puller's loop, still have to catch up.
  const { transport, loop } = briefing.hold.parts;
  // The operator has to walk over: a light that flickers meanwhile does not take the hold back.
  const isSettled = lights.isSettled || (settledMs !== null && nowMs - settledMs < GRACE_MS);
  const isOver = isSettled && held >= transport + loop;
  const { zones, flush, strand } = lights;
  const left = [zones, flush, strand].map((light) =>
    light.isOn ? transport + loop - held : (light.remainingSeconds ?? Number.NaN),
  );
  const most = Math.max(0, ...left);
  const leftSeconds = isOver ? 0 : Number.isNaN(most) ? null : most;
  const seen = ({ isOn, says }: typeof zones) => ({ isOn, says });
  return {
    isOver,
    by: 'gauge',
    held,
    wanted,
    leftSeconds,
    lights: { zones: seen(zones), flush: seen(flush), strand: seen(strand) },
  };
}

/** The entry that a hold has ended, with what the three lights said. */
export function holdEnded(
  cell: number,
  how: 'full' | 'early' | 'longer',
  facts: WalkFacts,
  why?: string,
): WalkDeed {
  const { held, lights } = holdState(facts);
  const what: Happening = {
    kind: 'hold ended',
    cell,
    how,
    heldSeconds: Math.round(held),
    ...(lights ? { lights } : {}),
  };
  return recorded(what, why);
}
