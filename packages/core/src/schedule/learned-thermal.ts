import { simplexSearch } from '../surface/simplex-search.ts';
import type { Thermal } from '../trade/line.ts';

/** One zone after one change of its set point, as logged. */
export interface ZoneTransition {
  /** Zones changed together share a number, such as their cell's: they count as one change. */
  readonly change: number;
  /** Since the change, rising; s, shape (n). */
  readonly seconds: Float64Array;
  /** °C, NaN where missing, shape (n). */
  readonly celsius: Float64Array;
  readonly setCelsius: number;
}

/** A constant of the line, learned or kept. */
export interface LearnedConstant {
  readonly value: number;
  /** Standard error from one change to another; null when the value is kept as it was. */
  readonly standardError: number | null;
}

export type LearnedThermal =
  | { readonly kind: 'too-few'; readonly changes: number; readonly needed: number }
  | {
      readonly kind: 'learned';
      readonly changes: number;
      readonly zoneLagSeconds: LearnedConstant;
      readonly heatingCelsiusPerSecond: LearnedConstant;
      readonly coolingCelsiusPerSecond: LearnedConstant;
      /** RMS of logged less modelled temperatures; °C. */
      readonly misfitCelsius: number;
    };

/** A smaller step says more of the controller's ripple than of the zone. */
const LEAST_STEP_CELSIUS = 4;
/** Fewer do not show how much one change differs from another. */
const FEWEST_CHANGES = 3;
/** A rate is seen when the gap exceeds rate times lag by this factor. */
const CLEARLY_LIMITED = 1.3;
const MOST_POINTS = 80;

/**
 * Temperature of a rate-limited first-order zone; the closed form behind `settleSeconds`.
 *
 * @param gap - set point less temperature at the start; °C, either sign
 * @param rate - the limit for this direction; °C/s
 * @returns set point less temperature after `seconds`; °C
 * @source derived: d(gap)/dt = −min(r, |gap|/τ)·sign(gap)
 */
export function gapAfter(gap: number, seconds: number, rate: number, lag: number): number {
  const size = Math.abs(gap);
  const linear = rate * lag;
  const limitedFor = size > linear ? (size - linear) / rate : 0;
  const left =
    seconds <= limitedFor
      ? size - rate * seconds
      : Math.min(size, linear) * Math.exp(-(seconds - limitedFor) / lag);
  return Math.sign(gap) * left;
}

/**
 * Lag and rates of a barrel from its own changes, by least squares over all of them at once. A rate
 * that no change has reached is kept as it was. Standard errors come from leaving out one change after
 * the other, so that they hold how much changes differ and not only how smooth one of them is.
 *
 * @param transitions - zones after a change; steps below 4 °C are passed over
 * @param assumed - what is used so far
 * @source jackknife: Miller (1974), The jackknife: a review, Biometrika 61:1–15 (from memory)
 */
export function learnedThermal(
  transitions: readonly ZoneTransition[],
  assumed: Thermal,
): LearnedThermal {
  const zones = transitions.map(thinned).filter(isTelling);
  const changes = [...new Set(zones.map(({ change }) => change))];
  if (changes.length < FEWEST_CHANGES)
    return { kind: 'too-few', changes: changes.length, needed: FEWEST_CHANGES };
  const best = fitted(zones, assumed);
  const without = changes.map((left) =>
    fitted(
      zones.filter(({ change }) => change !== left),
      assumed,
    ),
  );
  const isLimited = (isHeating: boolean, rate: number): boolean =>
    zones.filter(
      ({ gap }) => gap > 0 === isHeating && Math.abs(gap) > CLEARLY_LIMITED * rate * best.lag,
    ).length >= 2;
  const error = (of: (fit: Constants) => number): number => {
    const n = without.length;
    const mean = without.reduce((sum, fit) => sum + of(fit), 0) / n;
    const squares = without.reduce((sum, fit) => sum + (of(fit) - mean) ** 2, 0);
    return Math.sqrt(((n - 1) / n) * squares);
  };
  const rate = (isHeating: boolean, of: (fit: Constants) => number, kept: number) =>
    isLimited(isHeating, of(best))
      ? { value: of(best), standardError: error(of) }
      : { value: kept, standardError: null };
  return {
    kind: 'learned',
    changes: changes.length,
    zoneLagSeconds: { value: best.lag, standardError: error(({ lag }) => lag) },
    heatingCelsiusPerSecond: rate(true, ({ heating }) => heating, assumed.heatingCelsiusPerSecond),
    coolingCelsiusPerSecond: rate(false, ({ cooling }) => cooling, assumed.coolingCelsiusPerSecond),
    misfitCelsius: Math.sqrt(best.meanSquare),
  };
}

interface ZoneChange {
  readonly change: number;
  readonly seconds: Float64Array;
  readonly gaps: Float64Array;
  readonly gap: number;
}

interface Constants {
  readonly lag: number;
  readonly heating: number;
  readonly cooling: number;
  readonly meanSquare: number;
}

function thinned({ change, seconds, celsius, setCelsius }: ZoneTransition): ZoneChange {
  const step = Math.max(1, Math.floor(seconds.length / MOST_POINTS));
  const at: number[] = [];
  for (let i = 0; i < seconds.length; i += step) if (!Number.isNaN(celsius[i])) at.push(i);
  const start = at.length > 0 ? seconds[at[0]!]! : 0;
  const gaps = Float64Array.from(at, (i) => setCelsius - celsius[i]!);
  return {
    change,
    seconds: Float64Array.from(at, (i) => seconds[i]! - start),
    gaps,
    gap: gaps[0] ?? 0,
  };
}

const isTelling = ({ gap, seconds }: ZoneChange): boolean =>
  Math.abs(gap) >= LEAST_STEP_CELSIUS && seconds.length >= 10;

function fitted(changes: readonly ZoneChange[], assumed: Thermal): Constants {
  const meanSquare = (x: Float64Array): number => {
    const [lag, heating, cooling] = [Math.exp(x[0]!), Math.exp(x[1]!), Math.exp(x[2]!)];
    let sum = 0;
    let count = 0;
    for (const { seconds, gaps, gap } of changes) {
      const rate = gap > 0 ? heating : cooling;
      for (let i = 0; i < seconds.length; i++) {
        sum += (gaps[i]! - gapAfter(gap, seconds[i]!, rate, lag)) ** 2;
        count++;
      }
    }
    return sum / count;
  };
  const start = Float64Array.of(
    Math.log(assumed.zoneLagSeconds),
    Math.log(assumed.heatingCelsiusPerSecond),
    Math.log(assumed.coolingCelsiusPerSecond),
  );
  const { at, score } = simplexSearch((x) => -meanSquare(x), start, 0.5);
  return {
    lag: Math.exp(at[0]!),
    heating: Math.exp(at[1]!),
    cooling: Math.exp(at[2]!),
    meanSquare: -score,
  };
}

/**
 * The constants to hold by: each a standard error to the slow side, so that one hold in six or so is a
 * little short and not every second one.
 */
export function cautiousThermal(learned: LearnedThermal, assumed: Thermal): Thermal {
  if (learned.kind === 'too-few') return assumed;
  const { zoneLagSeconds, heatingCelsiusPerSecond, coolingCelsiusPerSecond } = learned;
  const slower = ({ value, standardError }: LearnedConstant): number =>
    standardError === null ? value : Math.max(0.5 * value, value - standardError);
  const rounded = (value: number): number => Number(value.toPrecision(3));
  return {
    ...assumed,
    zoneLagSeconds: rounded(zoneLagSeconds.value + (zoneLagSeconds.standardError ?? 0)),
    heatingCelsiusPerSecond: rounded(slower(heatingCelsiusPerSecond)),
    coolingCelsiusPerSecond: rounded(slower(coolingCelsiusPerSecond)),
    basis: 'learned',
  };
}

/** Cells that must tell before the flush is judged. */
const FEWEST_CELLS = 4;
/** Renews 95 % of the melt in an ideal screw; see `barrelVolumesFor`. */
const THOROUGH_VOLUMES = 1.7;

/**
 * Barrel volumes to pump when strands go on drifting after the flush in use, in half of the cells or
 * more; null when the flush in use is enough. It is never lowered: a strand that stands still before a
 * barrel volume has left still shows old melt, as nothing leaves before three quarters of one.
 *
 * @param isStillMoving - one a cell whose melt was changed
 * @param inUse - barrel volumes of the present rule
 */
export function learnedFlushVolumes(
  isStillMoving: readonly boolean[],
  inUse: number,
): number | null {
  if (isStillMoving.length < FEWEST_CELLS || inUse >= THOROUGH_VOLUMES) return null;
  const moving = isStillMoving.filter((moves) => moves).length;
  return moving >= isStillMoving.length / 2 ? THOROUGH_VOLUMES : null;
}
