import { describe, expect, it } from 'vitest';
import { steadyClock } from '../../../packages/cli/src/reading/steady-clock.ts';

describe('steadyClock', () => {
  it('sees no jump when the program is held up between reading its two clocks', () => {
    let ms = 1e12;
    let heldUp = 0;
    const wall = (): number => {
      const now = ms;
      ms += heldUp;
      heldUp = 0;
      return now;
    };
    const clock = steadyClock({ now: wall }, () => ms - 1e12);
    for (const pause of [0, 3000, 30_000, 200]) {
      ms += 1000;
      // Held up once, right after the wall clock is read.
      heldUp = pause;
      expect(clock.look().jump).toBeNull();
    }
    expect(clock.now()).toBe(ms);
  });

  it('tells of a wall clock set back and of time that passed unwatched', () => {
    let [wall, ticks] = [1e12, 0];
    const clock = steadyClock({ now: () => wall }, () => ticks);
    wall -= 3_600_000;
    ticks += 1000;
    expect(clock.look()).toEqual({ now: 1e12 + 1000, jump: { bySeconds: -3601 } });
    wall += 7_200_000;
    ticks += 1000;
    expect(clock.look().jump).toEqual({ bySeconds: 7199 });
  });
});
