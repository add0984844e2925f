import { DomainError } from '../error/domain-error.ts';
import type { GaugeReading } from './log.ts';
import type { SettlingLight, SettlingWatchOptions } from './settling-light.ts';
import { duration } from './words.ts';

/** Longest silence over which the last output is carried on. */
const LONGEST_CARRY_SECONDS = 60;

export interface FlushLight {
  push(reading: GaugeReading, readySince: number | undefined): void;
  light(): SettlingLight;
}

/**
 * Melt pumped since the zones are ready, in barrel volumes. Output is π/4·d²·v of solid strand times
 * the density ratio; without a puller speed the caller's output from the screw serves.
 *
 * @throws {DomainError} `out_of_domain` when the hold-up is not above zero
 */
export function flushLight(options: SettlingWatchOptions): FlushLight {
  const { holdUpCm3, barrelVolumes = 1, solidOverMeltDensity = 1, outputCm3PerSecond } = options;
  if (!(holdUpCm3 > 0)) {
    throw new DomainError(
      'out_of_domain',
      `flushLight: the hold-up must exceed 0 cm³; got ${holdUpCm3}. Take it from the line's description.`,
      { holdUpCm3 },
    );
  }
  let readySince: number | undefined;
  let last: number | undefined;
  let rate: number | undefined;
  let pumped = 0;

  const rateOf = ({ diameterMm: d, pullerMmPerSecond: v }: GaugeReading): number | undefined => {
    if (v === undefined || Number.isNaN(v) || Number.isNaN(d)) return rate ?? outputCm3PerSecond;
    return ((Math.PI / 4) * d * d * Math.max(0, v) * solidOverMeltDensity) / 1000;
  };

  return {
    push(reading, ready) {
      rate = rateOf(reading);
      if (ready === undefined) {
        pumped = 0;
      } else {
        // A prediction may lie between two readings: only the part after it counts.
        const from = Math.max(ready, last ?? ready);
        const held = Math.min(reading.seconds - from, LONGEST_CARRY_SECONDS);
        if (held > 0 && rate !== undefined) pumped += rate * held;
      }
      readySince = ready;
      last = reading.seconds;
    },
    light() {
      const volumes = pumped / holdUpCm3;
      const says = `${volumes.toFixed(1)} of ${barrelVolumes.toFixed(1)} barrel volumes`;
      if (readySince === undefined) {
        return { isOn: false, says: `${says}: flushing counts once the zones are ready` };
      }
      if (volumes >= barrelVolumes) return { isOn: true, says };
      if (rate === undefined) return { isOn: false, says: 'flush: no puller speed and no output' };
      const remainingSeconds = ((barrelVolumes - volumes) * holdUpCm3) / rate;
      if (!Number.isFinite(remainingSeconds)) {
        return { isOn: false, says: `${says}; nothing is coming out` };
      }
      return {
        isOn: false,
        says: `${says}, about ${duration(remainingSeconds)} more`,
        remainingSeconds,
      };
    },
  };
}
