import { z } from 'zod';
import type { Grade } from '../trade/grade.ts';
import type { Line, SetPoints } from '../trade/line.ts';
import {
  assumedDensities,
  coolingSeconds,
  type Densities,
  lineSpeedMmPerSecond,
  meanResidenceMinutes,
} from '../trade/output.ts';

/**
 * How long to wait after a change. `computed`: as `holdFor` works it out, with `flushVolumes` barrel
 * volumes once the zones have settled (1.0 for a study cell, 1.7 for confirmation and release).
 * `flat`: fixed minutes, whatever the step; under-flushed cells are marked.
 */
export const HoldRule = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('computed'),
    flushVolumes: z.number().nonnegative().default(1),
  }),
  z.strictObject({
    kind: z.literal('flat'),
    zoneChangeMinutes: z.number().nonnegative().default(10),
    otherChangeMinutes: z.number().nonnegative().default(3),
  }),
]);
export type HoldRule = z.infer<typeof HoldRule>;

export const studyHold: HoldRule = { kind: 'computed', flushVolumes: 1 };
export const confirmationHold: HoldRule = { kind: 'computed', flushVolumes: 1.7 };

/**
 * Where the line stands before the first cell. `ready`: hot, soaked and purged at the cell's own set
 * points. `cold`: at room temperature; the zones heat and soak before the screw may turn. `at`:
 * running at other set points (zone temperatures as read, when they are known).
 */
export type StartState =
  | { readonly kind: 'ready' }
  | { readonly kind: 'cold'; readonly roomCelsius: number; readonly soakMinutes: number }
  | { readonly kind: 'at'; readonly setPoints: SetPoints };

export type HoldBinding =
  | `${string} heating`
  | `${string} cooling`
  | 'screw core'
  | 'barrel flush'
  | 'transport'
  | 'puller loop'
  | 'shortest hold'
  | 'flat rule';

/** Parts of a hold, each in seconds. */
export interface HoldParts {
  /** Settling of each zone, feed end first, with its overshoot guard. */
  readonly zones: readonly number[];
  readonly core: number;
  /** The slowest of zones and core, and the soak of a cold start. */
  readonly thermal: number;
  readonly flush: number;
  /** From die to gauge, and cooling of the strand. */
  readonly transport: number;
  readonly loop: number;
  readonly shortest: number;
}

/** A hold and why it is as long as it is. */
export interface Hold {
  readonly seconds: number;
  /** What a shorter hold would cut into. */
  readonly binding: HoldBinding;
  readonly parts: HoldParts;
  /** Barrel volumes pumped after the zones have settled, at the destination's screw speed. */
  readonly barrelVolumes: number;
  /** True when melt history changed and less than one barrel volume is pumped after settling. */
  readonly underFlushed: boolean;
  /** Seconds of the hold with the screw turning: what costs material. */
  readonly pumpedSeconds: number;
}

export interface HoldOf {
  readonly from: SetPoints | StartState;
  readonly to: SetPoints;
  readonly line: Line;
  readonly diameterMm?: number;
  readonly grade?: Pick<Grade, 'solidDensityGPerCm3' | 'meltDensityGPerCm3'>;
  readonly rule?: HoldRule;
  /** Dearest tier of a change among settings the line knows nothing about. */
  readonly otherChange?: 'easy' | 'semi-hard' | 'hard';
}

/** Steps of this size and more overshoot, so their zones must stay settled for the guard, °C. */
const overshootFromCelsius = 20;
const overshootGuardSeconds = 120;
/** Settings closer than this are the same setting. */
const same = (a: number, b: number): boolean => Math.abs(a - b) < 1e-6;

/**
 * Time for a rate-limited first-order zone to come within `within` of a new set point; s.
 *
 * Far from it the zone moves at its full rate r; from r·τ on it decays with lag τ.
 *
 * @param step - size of the change, °C; sign ignored
 * @param rate - °C/s, heating or cooling
 * @source derived: d(gap)/dt = −min(r, gap/τ)
 */
export function settleSeconds(step: number, rate: number, lag: number, within: number): number {
  const gap = Math.abs(step);
  const linear = rate * lag;
  if (gap <= within) return 0;
  if (gap <= linear) return lag * Math.log(gap / within);
  if (linear <= within) return (gap - within) / rate;
  return (gap - linear) / rate + lag * Math.log(linear / within);
}

/**
 * How long to wait between two cells before measuring, and what binds.
 *
 * Zones settle (heating and cooling at their own rates, a guard against overshoot from 20 °C on), the
 * unheated screw core follows later, then the barrel is flushed at the destination's screw speed.
 * Alongside run transport and cooling of the strand and three dead times of the puller loop. The
 * longer of the two chains counts, and never less than the line's shortest hold.
 *
 * @source common practice for a benchtop barrel, no source; settling times derived in `settleSeconds`
 */
export function holdFor(options: HoldOf): Hold {
  const { to, line, rule = studyHold } = options;
  const start = stateOf(options.from, to);
  const change = changeBetween(start.setPoints, to, options.otherChange);
  const thermal = thermalParts(start.zonesNow, to, line, start.soakSeconds);
  const strand = strandParts(to, line, options);
  const residence = meanResidenceMinutes(line, to.screwRpm) * 60;
  const wanted = rule.kind === 'computed' ? rule.flushVolumes : 1;
  const renewsMelt = change.zones || change.screw || change.other !== 'none' || start.isFirst;
  const flush = renewsMelt ? wanted * residence : 0;
  const floors =
    rule.kind === 'flat'
      ? [rule.zoneChangeMinutes, rule.otherChangeMinutes]
      : [line.shortestHold.zoneChangeMinutes, line.shortestHold.otherChangeMinutes];
  const isLong = change.zones || change.other === 'hard' || start.isFirst;
  const shortest = 60 * (isLong ? floors[0]! : floors[1]!);
  const parts: HoldParts = { ...thermal.parts, ...strand, flush, shortest };
  const { seconds, binding } =
    rule.kind === 'flat'
      ? { seconds: shortest + start.soakSeconds, binding: 'flat rule' as const }
      : bindingOf(parts, thermal.binding);
  const barrelVolumes = Math.max(0, seconds - parts.thermal) / residence;
  return {
    seconds,
    binding,
    parts,
    barrelVolumes,
    underFlushed: renewsMelt && barrelVolumes < 1 - 1e-9,
    pumpedSeconds: start.isCold ? Math.max(0, seconds - parts.thermal) : seconds,
  };
}

interface Start {
  readonly setPoints: SetPoints;
  readonly zonesNow: readonly number[];
  readonly soakSeconds: number;
  readonly isFirst: boolean;
  readonly isCold: boolean;
}

function stateOf(from: SetPoints | StartState, to: SetPoints): Start {
  const running = { soakSeconds: 0, isFirst: false, isCold: false };
  if (!('kind' in from)) return { ...running, setPoints: from, zonesNow: from.zonesCelsius };
  if (from.kind === 'at') {
    return { ...running, setPoints: from.setPoints, zonesNow: from.setPoints.zonesCelsius };
  }
  if (from.kind === 'ready') {
    return { ...running, setPoints: to, zonesNow: to.zonesCelsius, isFirst: true };
  }
  const zonesNow = to.zonesCelsius.map(() => from.roomCelsius);
  const setPoints = { ...to, zonesCelsius: zonesNow };
  return { setPoints, zonesNow, soakSeconds: from.soakMinutes * 60, isFirst: true, isCold: true };
}

interface ChangeBetween {
  readonly zones: boolean;
  readonly screw: boolean;
  readonly other: 'none' | 'semi-hard' | 'hard';
}

function changeBetween(from: SetPoints, to: SetPoints, tier: HoldOf['otherChange']): ChangeBetween {
  const names = new Set([...Object.keys(from.other), ...Object.keys(to.other)]);
  const isOther = [...names].some((name) => from.other[name] !== to.other[name]);
  return {
    zones: to.zonesCelsius.some((celsius, i) => !same(celsius, from.zonesCelsius[i]!)),
    screw: !same(from.screwRpm, to.screwRpm),
    other: isOther && tier !== 'easy' ? (tier ?? 'hard') : 'none',
  };
}

function thermalParts(
  zonesNow: readonly number[],
  to: SetPoints,
  line: Line,
  soakSeconds: number,
): { parts: Pick<HoldParts, 'zones' | 'core' | 'thermal'>; binding: HoldBinding } {
  const { thermal } = line;
  const within = thermal.settledWithinCelsius;
  const steps = to.zonesCelsius.map((celsius, i) => celsius - zonesNow[i]!);
  const zones = steps.map((step) => {
    const rate = step > 0 ? thermal.heatingCelsiusPerSecond : thermal.coolingCelsiusPerSecond;
    const guard = Math.abs(step) >= overshootFromCelsius ? overshootGuardSeconds : 0;
    return settleSeconds(step, rate, thermal.zoneLagSeconds, within) + guard;
  });
  const meanStep = Math.abs(steps.reduce((sum, step) => sum + step, 0) / steps.length);
  const coreGap = thermal.coreShare * meanStep;
  // The soak of a cold start stands for the core: nothing is melted before it ends.
  const core =
    soakSeconds > 0 || coreGap <= within ? 0 : thermal.coreLagSeconds * Math.log(coreGap / within);
  const slowest = zones.indexOf(Math.max(...zones));
  const name = line.zones[slowest]!.name;
  const binding: HoldBinding =
    core > zones[slowest]!
      ? 'screw core'
      : `${name} ${steps[slowest]! > 0 ? 'heating' : 'cooling'}`;
  return {
    parts: { zones, core, thermal: Math.max(zones[slowest]!, core) + soakSeconds },
    binding,
  };
}

function strandParts(
  to: SetPoints,
  line: Line,
  { diameterMm = 1.75, grade = assumedDensities }: Pick<HoldOf, 'diameterMm' | 'grade'>,
): Pick<HoldParts, 'transport' | 'loop'> {
  const densities: Densities = grade;
  const speed = lineSpeedMmPerSecond(line, to.screwRpm, diameterMm, densities);
  const cooling = coolingSeconds(diameterMm, to.fanPercent, densities);
  return {
    transport: (line.dieToPullerMm + line.dieToGaugeMm) / speed + 3 * cooling,
    loop: line.puller.loop === 'on' ? (3 * line.dieToGaugeMm) / speed : 0,
  };
}

function bindingOf(
  { thermal, flush, transport, loop, shortest }: HoldParts,
  thermalBinding: HoldBinding,
): { seconds: number; binding: HoldBinding } {
  const barrel = thermal + flush;
  const strand = transport + loop;
  const seconds = Math.max(barrel, strand, shortest);
  if (seconds === shortest) return { seconds, binding: 'shortest hold' };
  if (seconds === barrel) {
    return { seconds, binding: flush > thermal ? 'barrel flush' : thermalBinding };
  }
  return { seconds, binding: loop > transport ? 'puller loop' : 'transport' };
}
