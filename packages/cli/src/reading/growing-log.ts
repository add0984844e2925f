import type { GaugeLog, GaugeReading } from '@strandwise/core';

const FIRST_CAPACITY = 4096;

/** A log that grows by a reading at a time; columns that no reading has are left out. */
export interface GrowingLog {
  push(reading: GaugeReading): void;
  readonly length: number;
  /** The readings from the first at or after `fromSeconds`, as views: they hold until the next push. */
  since(fromSeconds: number): GaugeLog;
  last(): GaugeReading | undefined;
}

export function growingLog(): GrowingLog {
  let columns: Float64Array[] = [];
  let zones = 0;
  let hasOvality = false;
  let hasPuller = false;
  let length = 0;
  let latest: GaugeReading | undefined;

  const start = (reading: GaugeReading): void => {
    zones = reading.zonesCelsius?.length ?? 0;
    hasOvality = reading.ovalityMm !== undefined;
    hasPuller = reading.pullerMmPerSecond !== undefined;
    columns = Array.from({ length: 4 + zones }, () => new Float64Array(FIRST_CAPACITY));
  };
  const grow = (): void => {
    columns = columns.map((column) => {
      const larger = new Float64Array(2 * column.length);
      larger.set(column);
      return larger;
    });
  };
  const firstFrom = (seconds: number): number => {
    let [low, high] = [0, length];
    while (low < high) {
      const middle = (low + high) >>> 1;
      if (columns[0]![middle]! < seconds) low = middle + 1;
      else high = middle;
    }
    return low;
  };

  return {
    get length() {
      return length;
    },
    push(reading) {
      if (length === 0) start(reading);
      if (length === columns[0]!.length) grow();
      const before = length > 0 ? columns[0]![length - 1]! : Number.NEGATIVE_INFINITY;
      columns[0]![length] = Math.max(before, reading.seconds);
      columns[1]![length] = reading.diameterMm;
      columns[2]![length] = reading.ovalityMm ?? Number.NaN;
      columns[3]![length] = reading.pullerMmPerSecond ?? Number.NaN;
      for (let i = 0; i < zones; i++) columns[4 + i]![length] = reading.zonesCelsius?.[i] ?? NaN;
      length++;
      latest = reading;
    },
    since(fromSeconds) {
      const from = length === 0 ? 0 : firstFrom(fromSeconds);
      const view = (k: number): Float64Array =>
        length === 0 ? new Float64Array(0) : columns[k]!.subarray(from, length);
      return {
        seconds: view(0),
        diameterMm: view(1),
        ...(hasOvality && { ovalityMm: view(2) }),
        ...(hasPuller && { pullerMmPerSecond: view(3) }),
        ...(zones > 0 && { zonesCelsius: Array.from({ length: zones }, (_, i) => view(4 + i)) }),
      };
    },
    last: () => latest,
  };
}
