import { DomainError } from '../error/domain-error.ts';
import type { GaugeLog } from './log.ts';

/** A stretch of a log by time, both ends included; s from the first reading. */
export interface LogStretch {
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

/** Position of the first time at or after `time`; n when all are earlier. */
export function firstAtOrAfter(seconds: Float64Array, time: number): number {
  let low = 0;
  let high = seconds.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (seconds[middle]! < time) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * The part of a log inside a stretch, as views on the same memory.
 *
 * @throws {DomainError} `empty_stretch` when no reading lies inside
 */
export function cutLog(log: GaugeLog, { fromSeconds, toSeconds }: LogStretch): GaugeLog {
  const from = firstAtOrAfter(log.seconds, fromSeconds);
  let to = firstAtOrAfter(log.seconds, toSeconds);
  while (to < log.seconds.length && log.seconds[to]! <= toSeconds) to++;
  if (from >= to) {
    const last = log.seconds.at(-1);
    throw new DomainError(
      'empty_stretch',
      `cutLog: the stretch must hold a reading; got ${fromSeconds} s to ${toSeconds} s (log runs from ${log.seconds[0] ?? '—'} s to ${last ?? '—'} s). Choose a stretch inside the log.`,
      { fromSeconds, toSeconds },
    );
  }
  return {
    seconds: log.seconds.subarray(from, to),
    diameterMm: log.diameterMm.subarray(from, to),
    ...(log.ovalityMm && { ovalityMm: log.ovalityMm.subarray(from, to) }),
    ...(log.pullerMmPerSecond && { pullerMmPerSecond: log.pullerMmPerSecond.subarray(from, to) }),
    ...(log.zonesCelsius && { zonesCelsius: log.zonesCelsius.map((z) => z.subarray(from, to)) }),
    ...(log.startedAt !== undefined && { startedAt: log.startedAt }),
  };
}
