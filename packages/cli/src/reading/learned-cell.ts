import {
  evenlySpaced,
  type GaugeLog,
  type Line,
  type SetPoints,
  trendOf,
  usualStepSeconds,
  type ZoneTransition,
} from '@strandwise/core';

/** What one cell's log teaches about the line. */
export interface LearnedCell {
  readonly transitions: readonly ZoneTransition[];
  /** Whether the strand drifted on after the flush in use; null when the log cannot tell. */
  readonly isStillMoving: boolean | null;
}

/** Zones are followed this long after a change; later they only ripple. */
const FOLLOWED_SECONDS = 1800;
const DWELL_SECONDS = 120;

export interface LearnedCellOf {
  readonly cell: number;
  readonly entered: SetPoints;
  readonly line: Line;
  /** Density of the strand over that of the melt. */
  readonly solidOverMelt: number;
  /** Barrel volumes of the flush in use; 0 when neither zones nor screw were changed. */
  readonly flushVolumes: number;
}

/** Reads lags and flush off the whole log of a cell, from its settings to its end. */
export function learnedCell(log: GaugeLog, of: LearnedCellOf): LearnedCell {
  const { seconds, zonesCelsius } = log;
  if (!zonesCelsius || seconds.length === 0) return { transitions: [], isStillMoving: null };
  const end = seconds.findIndex((second) => second > seconds[0]! + FOLLOWED_SECONDS);
  const to = end < 0 ? seconds.length : end;
  const transitions = zonesCelsius.map((celsius, zone) => ({
    change: of.cell,
    seconds: seconds.slice(0, to),
    celsius: celsius.slice(0, to),
    setCelsius: of.entered.zonesCelsius[zone] ?? Number.NaN,
  }));
  return { transitions, isStillMoving: of.flushVolumes > 0 ? isStillMoving(log, of) : null };
}

/** Drift of the puller over the next barrel volume, clear of three of its standard errors. */
function isStillMoving(log: GaugeLog, of: LearnedCellOf): boolean | null {
  const { entered, line, flushVolumes } = of;
  const ready = readySeconds(log, entered, line.thermal.settledWithinCelsius);
  if (ready === null || !log.pullerMmPerSecond) return null;
  const pumped = pumpedVolumes(log, ready, of);
  const from = pumped.findIndex((volumes) => volumes >= flushVolumes);
  const end = pumped.findIndex((volumes) => volumes >= flushVolumes + 1);
  const to = end < 0 ? pumped.length : end;
  if (from < 0 || to - from < 60) return null;
  const step = usualStepSeconds(log.seconds.subarray(from, to));
  const speed = evenlySpaced(
    log.seconds.subarray(from, to),
    log.pullerMmPerSecond.subarray(from, to),
    step,
  ).values;
  // A loop that is off leaves the speed as it is, and the diameter tells.
  const isFixed = speed.every((value) => value === speed[0]);
  const told = isFixed
    ? evenlySpaced(log.seconds.subarray(from, to), log.diameterMm.subarray(from, to), step).values
    : speed;
  const { perMinute, standardErrorPerMinute, residualSd } = trendOf(told, step);
  const change = (Math.abs(perMinute) * (told.length - 1) * step) / 60;
  return Math.abs(perMinute) > 3 * standardErrorPerMinute && change > residualSd;
}

/** Barrel volumes of melt pumped since `ready`, at each reading. */
function pumpedVolumes(
  { seconds, diameterMm, pullerMmPerSecond: puller }: GaugeLog,
  ready: number,
  { line, solidOverMelt }: LearnedCellOf,
): Float64Array {
  const out = new Float64Array(seconds.length);
  let pumpedMm3 = 0;
  for (let i = 1; i < seconds.length; i++) {
    const flow = (Math.PI / 4) * diameterMm[i]! * diameterMm[i]! * puller![i]!;
    if (seconds[i]! > ready && flow > 0)
      pumpedMm3 += flow * Math.min(60, seconds[i]! - seconds[i - 1]!);
    out[i] = (pumpedMm3 * solidOverMelt) / 1000 / line.holdUpCm3;
  }
  return out;
}

/** When every zone has come within its tolerance and stayed there for two minutes; null when never. */
function readySeconds(
  { seconds, zonesCelsius }: GaugeLog,
  { zonesCelsius: set }: SetPoints,
  within: number,
): number | null {
  let since: number | null = null;
  for (let i = 0; i < seconds.length; i++) {
    const isIn = zonesCelsius!.every(
      (celsius, zone) => !(Math.abs(celsius[i]! - set[zone]!) > within),
    );
    if (!isIn) since = null;
    else since ??= seconds[i]!;
    if (since !== null && seconds[i]! - since >= DWELL_SECONDS) return since;
  }
  return null;
}
