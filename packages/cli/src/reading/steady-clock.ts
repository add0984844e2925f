import type { Clock } from '@strandwise/core';

/** A jump of the wall clock against a clock that only ever counts on; negative is back. */
export interface ClockJump {
  readonly bySeconds: number;
}

/**
 * Time that never goes back. It follows the wall clock, except that a wall clock that is set back does
 * not take it along; `look` tells of every jump, so that time nobody watched is not counted as held.
 */
export interface SteadyClock extends Clock {
  /** The moment, and the jump since the last look, if there was one. */
  look(): { readonly now: number; readonly jump: ClockJump | null };
}

/** A step ahead of this much between two looks is a sleep, or somebody at the clock. */
const AHEAD_MS = 20_000;
const BACK_MS = 2_000;

/** Two clocks are read together when no more than this passes meanwhile. */
const TOGETHER_MS = 50;
const MOST_TRIES = 10;

/** Both clocks at one moment: a program may be held up between two readings, and would see a jump. */
function readTogether(wall: Clock, ticking: () => number): [wall: number, ticks: number] {
  for (let tries = 1; ; tries++) {
    const before = ticking();
    const now = wall.now();
    const ticks = ticking();
    if (ticks - before <= TOGETHER_MS || tries === MOST_TRIES) return [now, ticks];
  }
}

/**
 * @param wall - the world's time, ms; may jump
 * @param ticking - counts on whatever happens, ms, from any origin; may stand still in a sleep
 * @param notBefore - ms; a wall clock that is behind it starts there
 */
export function steadyClock(wall: Clock, ticking: () => number, notBefore = 0): SteadyClock {
  let [wallBefore, ticksBefore] = readTogether(wall, ticking);
  let now = Math.max(wallBefore, notBefore);
  const look = (): { now: number; jump: ClockJump | null } => {
    const [wallNow, ticks] = readTogether(wall, ticking);
    const [wallStep, tickStep] = [wallNow - wallBefore, Math.max(0, ticks - ticksBefore)];
    wallBefore = wallNow;
    ticksBefore = ticks;
    const by = wallStep - tickStep;
    if (by < -BACK_MS) {
      now += tickStep;
      return { now, jump: { bySeconds: by / 1000 } };
    }
    now += Math.max(0, wallStep);
    return { now, jump: by > AHEAD_MS ? { bySeconds: by / 1000 } : null };
  };
  let waiting: ClockJump | null = null;
  return {
    // A jump noticed while somebody only asks the time waits for the next look.
    now() {
      const seen = look();
      waiting = seen.jump ?? waiting;
      return seen.now;
    },
    look() {
      const seen = look();
      const jump = seen.jump ?? waiting;
      waiting = null;
      return { now: seen.now, jump };
    },
  };
}
