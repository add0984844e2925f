import type { GaugeLog, GaugeReading } from '@strandwise/core';

/** Readings as the columns of a log; a column that no reading has is left out. */
export function logColumns(readings: readonly GaugeReading[], startedAt?: number): GaugeLog {
  const column = (of: (reading: GaugeReading) => number | undefined): Float64Array =>
    Float64Array.from(readings, (reading) => of(reading) ?? Number.NaN);
  const first = readings[0];
  const start = first?.seconds ?? 0;
  return {
    seconds: column((reading) => reading.seconds - start),
    diameterMm: column((reading) => reading.diameterMm),
    ...(first?.ovalityMm === undefined ? {} : { ovalityMm: column((r) => r.ovalityMm) }),
    ...(first?.pullerMmPerSecond === undefined
      ? {}
      : { pullerMmPerSecond: column((r) => r.pullerMmPerSecond) }),
    ...(first?.zonesCelsius === undefined
      ? {}
      : {
          zonesCelsius: first.zonesCelsius.map((_, i) => column((r) => r.zonesCelsius?.[i])),
        }),
    ...(startedAt === undefined ? {} : { startedAt }),
  };
}

/** Column heads of the text log for readings like this one. */
export function csvHead(reading: GaugeReading): string {
  return [
    'time_s',
    'diameter_mm',
    ...(reading.ovalityMm === undefined ? [] : ['ovality_mm']),
    'puller_mm_per_s',
    ...(reading.zonesCelsius ?? []).map((_, i) => `zone${i + 1}_c`),
  ].join(',');
}

/** One reading as a line of the text log, without the line end. */
export function csvRow(reading: GaugeReading): string {
  return [
    String(reading.seconds),
    reading.diameterMm.toFixed(4),
    ...(reading.ovalityMm === undefined ? [] : [reading.ovalityMm.toFixed(4)]),
    reading.pullerMmPerSecond?.toFixed(3) ?? '',
    ...(reading.zonesCelsius ?? []).map((celsius) => celsius.toFixed(1)),
  ].join(',');
}

/** Readings as comma-separated text with a head line; the form a line's data logger writes. */
export function csvLog(readings: readonly GaugeReading[]): string {
  if (readings.length === 0) return '';
  return `${[csvHead(readings[0]!), ...readings.map(csvRow)].join('\n')}\n`;
}
