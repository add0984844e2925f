import { duration } from './words.ts';

/** What turns or swings on the line, as far as it is known. */
export interface Turning {
  readonly screwRpm?: number;
  /** Time from die to gauge, L/v: the dead time of the puller loop. */
  readonly deadTimeSeconds?: number;
  readonly spoolTurnSeconds?: number;
  readonly pullerRollerTurnSeconds?: number;
  /** Time between readings; tells which fast turns fold down into the log. Default 1 s. */
  readonly stepSeconds?: number;
}

export type PeriodicCause = 'screw' | 'puller-loop' | 'spool' | 'puller-roller' | 'unknown';

/**
 * Names a wave by what turns at its pace: the screw or its second and third harmonic, the puller loop
 * (hunting near four dead times), the spool, a puller roller (also when it turns faster than half the
 * reading rate and folds down).
 *
 * @source hunting at four dead times: pure delay under integral control at the edge of stability has
 *   a phase lag of π/2 from the delay, so its period is 4θ
 */
export function causeOf(
  periodSeconds: number,
  spanSeconds: number,
  turning: Turning,
): { readonly cause: PeriodicCause; readonly hint: string } {
  const said = duration(periodSeconds);
  const f = 1 / periodSeconds;
  const near = Math.max(1 / spanSeconds, 0.02 * f);
  const isAt = (hertz: number): boolean => Math.abs(f - hertz) <= near;
  const { screwRpm = 0, deadTimeSeconds = 0, spoolTurnSeconds = 0, stepSeconds = 1 } = turning;
  for (const harmonic of [1, 2, 3]) {
    if (screwRpm > 0 && isAt((harmonic * screwRpm) / 60)) {
      const times = ['once', 'twice', 'three times'][harmonic - 1];
      return {
        cause: 'screw',
        hint: `A wave of ${said} comes ${times} a screw turn: feeding or melting surges. Look at the hopper and the feed zone; the puller loop cannot take it out.`,
      };
    }
  }
  if (spoolTurnSeconds > 0 && isAt(1 / spoolTurnSeconds)) {
    return {
      cause: 'spool',
      hint: `A wave of ${said} comes once a spool turn: the spooler tugs at the strand. Look at its tension and guide.`,
    };
  }
  const roller = turning.pullerRollerTurnSeconds ?? 0;
  if (roller > 0 && isAt(folded(1 / roller, 1 / stepSeconds))) {
    return {
      cause: 'puller-roller',
      hint: `A wave of ${said} fits a puller roller turning in ${roller.toFixed(1)} s: an uneven or dirty roller. Clean it and look at its run-out.`,
    };
  }
  const loops = deadTimeSeconds > 0 ? periodSeconds / (4 * deadTimeSeconds) : 0;
  if (loops > 0.75 && loops < 1.35) {
    return {
      cause: 'puller-loop',
      hint: `A wave of ${said} is about four times the ${duration(deadTimeSeconds)} from die to gauge: the puller loop hunts. Lower its gain, or move the gauge nearer to the die.`,
    };
  }
  return {
    cause: 'unknown',
    hint: `A wave of ${said} fits nothing that is known to turn on this line. Heater cycling, draughts and a shaking gauge are the usual suspects.`,
  };
}

/** Where a frequency shows in readings taken at `rate`. */
function folded(hertz: number, rate: number): number {
  const rest = hertz % rate;
  return Math.min(rest, rate - rest);
}
