import type { GaugeReading } from './log.ts';
import type { SettlingLight, SettlingWatchOptions } from './settling-light.ts';
import { duration } from './words.ts';

/** Zones must stay within tolerance this long, as heater loops overshoot; common practice. */
export const ZONE_DWELL_SECONDS = 120;

export interface ZonesLight {
  push(reading: GaugeReading): void;
  /** When the zones came within tolerance for good, or undefined. */
  readySince(): number | undefined;
  light(): SettlingLight;
}

export function zonesLight(options: SettlingWatchOptions): ZonesLight {
  const { setPointsCelsius: set, withinCelsius = 1, zonesReadyAtSeconds: predicted } = options;
  let now = Number.NaN;
  let since: number | undefined;
  let isSettled = false;
  let worst: { zone: number; off: number } | undefined;

  const fromLog = (zones: readonly number[]): void => {
    worst = farthest(zones, set!);
    // Once settled, a short swing past the tolerance is the heater's; twice that is a change.
    const limit = isSettled ? 2 * withinCelsius : withinCelsius;
    if (worst !== undefined && Math.abs(worst.off) > limit) {
      since = undefined;
      isSettled = false;
    } else {
      since ??= now;
      isSettled = now - since >= ZONE_DWELL_SECONDS;
    }
  };
  const usable = (zones: readonly number[] | undefined): zones is readonly number[] =>
    set !== undefined && zones !== undefined && set.some((_, i) => Number.isFinite(zones[i]));
  let hasLog = false;

  return {
    push(reading) {
      now = reading.seconds;
      if (usable(reading.zonesCelsius)) {
        hasLog = true;
        fromLog(reading.zonesCelsius);
      } else if (!hasLog && predicted !== undefined) {
        since = now >= predicted ? predicted : undefined;
        isSettled = since !== undefined;
      }
    },
    readySince: () => since,
    light() {
      if (hasLog) return loggedLight(now, since, isSettled, worst, withinCelsius);
      if (predicted === undefined) {
        return { isOn: false, says: 'zones: no temperatures are logged and none are predicted' };
      }
      return isSettled
        ? { isOn: true, says: `zones ready ${duration(now - predicted)} ago, by prediction` }
        : {
            isOn: false,
            says: `zones ready in about ${duration(predicted - now)}, by prediction`,
            remainingSeconds: predicted - now,
          };
    },
  };
}

function loggedLight(
  now: number,
  since: number | undefined,
  isSettled: boolean,
  worst: { zone: number; off: number } | undefined,
  within: number,
): SettlingLight {
  if (since !== undefined && isSettled) {
    return { isOn: true, says: `zones ready ${duration(now - since)} ago` };
  }
  if (since !== undefined) {
    const remainingSeconds = ZONE_DWELL_SECONDS - (now - since);
    return {
      isOn: false,
      says: `zones within ${within} °C for ${duration(now - since)} of ${duration(ZONE_DWELL_SECONDS)}`,
      remainingSeconds,
    };
  }
  const off = worst?.off ?? 0;
  const side = off < 0 ? 'below' : 'above';
  return {
    isOn: false,
    says: `zone ${worst?.zone ?? '?'} is ${Math.abs(off).toFixed(1)} °C ${side} its set point`,
  };
}

function farthest(zones: readonly number[], set: readonly number[]) {
  let worst: { zone: number; off: number } | undefined;
  for (let i = 0; i < set.length; i++) {
    const off = (zones[i] ?? Number.NaN) - set[i]!;
    if (Number.isNaN(off)) continue;
    if (worst === undefined || Math.abs(off) > Math.abs(worst.off)) worst = { zone: i + 1, off };
  }
  return worst;
}
