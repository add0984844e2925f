import type { GaugeLog } from './log.ts';

/** How much of a stretch lies outside target ± tolerance. */
export interface OutsideTolerance {
  /** Share of present readings; 0 to 1. */
  readonly share: number;
  /** Longest unbroken run outside, as strand; m. Absent without a puller speed. */
  readonly longestMetres?: number;
}

/** A reading on the limit is inside; 1.80 − 1.75 exceeds 0.05 in binary by 4e-17. */
const LIMIT_SLACK_MM = 1e-9;

/**
 * Share of readings outside target ± tolerance and the longest strand outside in one piece. A reading
 * stands for the time to the next one, at most three seconds; a missing reading ends a piece.
 *
 * @param log - the stretch to judge
 * @param limits.pullerMmPerSecond - used when the log has no puller column
 */
export function outsideTolerance(
  log: GaugeLog,
  limits: {
    readonly targetMm: number;
    readonly toleranceMm: number;
    readonly pullerMmPerSecond?: number | undefined;
  },
): OutsideTolerance {
  const { seconds, diameterMm, pullerMmPerSecond: puller } = log;
  const knowsSpeed = puller !== undefined || limits.pullerMmPerSecond !== undefined;
  let present = 0;
  let outside = 0;
  let runMm = 0;
  let longestMm = 0;
  for (let i = 0; i < seconds.length; i++) {
    const error = Math.abs(diameterMm[i]! - limits.targetMm);
    if (!Number.isNaN(error)) present++;
    if (error > limits.toleranceMm + LIMIT_SLACK_MM) {
      outside++;
      const speed = puller?.[i] ?? limits.pullerMmPerSecond ?? 0;
      if (!Number.isNaN(speed)) runMm += speed * secondsHeld(seconds, i);
      longestMm = Math.max(longestMm, runMm);
    } else runMm = 0;
  }
  return {
    share: present === 0 ? 0 : outside / present,
    ...(knowsSpeed && { longestMetres: longestMm / 1000 }),
  };
}

/** Strand that passed the puller over a stretch; m. Undefined when no speed is known. */
export function strandMetres(log: GaugeLog, pullerMmPerSecond?: number): number | undefined {
  const { seconds, pullerMmPerSecond: puller } = log;
  if (puller === undefined) {
    if (pullerMmPerSecond === undefined) return undefined;
    return (pullerMmPerSecond * (seconds.at(-1)! - seconds[0]!)) / 1000;
  }
  let mm = 0;
  let last = Number.NaN;
  for (let i = 0; i + 1 < seconds.length; i++) {
    if (!Number.isNaN(puller[i]!)) last = puller[i]!;
    if (!Number.isNaN(last)) mm += last * (seconds[i + 1]! - seconds[i]!);
  }
  return Number.isNaN(last) ? undefined : mm / 1000;
}

/** Time that reading i stands for: to the next one, at most 3 s; the last like the one before. */
function secondsHeld(seconds: Float64Array, i: number): number {
  const to = i + 1 < seconds.length ? i + 1 : i;
  const from = to === i ? i - 1 : i;
  return from < 0 ? 1 : Math.min(3, seconds[to]! - seconds[from]!);
}
