import { flushLight } from './flush-light.ts';
import type { GaugeReading } from './log.ts';
import type { SettlingLights, SettlingWatchOptions } from './settling-light.ts';
import { strandLight } from './strand-light.ts';
import { zonesLight } from './zones-light.ts';

/** Follows a strand after a change of settings, a reading at a time. */
export interface SettlingWatch {
  /** Takes one reading and says how things stand; constant time a reading. */
  push(reading: GaugeReading): SettlingLights;
}

/**
 * A watch over zones, flush and strand for live use. Readings must come in order; one from before
 * `changedAtSeconds` is passed over.
 *
 * Zones: every logged zone within its tolerance for 120 s (lost again beyond twice the tolerance), or
 * a prediction. Flush: ∫Q dt since the zones came within tolerance, over the melt that the barrel
 * holds. Strand: no drift of screw-turn averages over the last ten minutes and a variance ratio at 1.
 */
export function settlingWatch(options: SettlingWatchOptions): SettlingWatch {
  const zones = zonesLight(options);
  const flush = flushLight(options);
  const strand = strandLight(options.screwRpm);
  let changedAt = options.changedAtSeconds;
  return {
    push(reading) {
      changedAt ??= reading.seconds;
      if (reading.seconds >= changedAt) {
        zones.push(reading);
        flush.push(reading, zones.readySince());
        strand.push(reading);
      }
      const lights = { zones: zones.light(), flush: flush.light(), strand: strand.light() };
      return {
        ...lights,
        isSettled: lights.zones.isOn && lights.flush.isOn && lights.strand.isOn,
        atSeconds: reading.seconds,
      };
    },
  };
}
