import type { GaugeLog, GaugeReading } from '@strandwise/core';
import type { LineFormat } from '../format/line-format.ts';
import { inOwnUnit } from '../format/unit.ts';

/** No strand of a benchtop line is thicker; a larger reading is a slip of digits or of unit. */
export const THICKEST_STRAND_MM = 10;

export type RowReason = 'no-diameter' | 'no-strand' | 'beyond-belief';

/** Where the fields of a format stand in a row, and how a row becomes a reading. */
export interface RowLayout {
  /** Own columns in order: diameter, ovality, puller, zones, as far as the format has them. */
  readonly names: readonly string[];
  /** Turns a raw row (time in slot 0) into own columns in own units; a reason when it is none. */
  readInto(own: Float64Array, row: Float64Array): RowReason | undefined;
  /** The diameter that a refused row claims; mm, NaN when it claims none. */
  claimedMm(row: Float64Array): number;
  log(columns: readonly Float64Array[]): GaugeLog;
  reading(own: Float64Array, seconds: number): GaugeReading;
}

export function rowLayout(format: LineFormat): RowLayout {
  const { fields } = format;
  const slotOf = (means: string, nth = 0): number => {
    const slots = fields.flatMap((f, i) => (f.means === means ? [i] : []));
    return slots[nth] ?? -1;
  };
  const units = fields.map((f) => f.unit);
  const [single, x, y] = [slotOf('diameter'), slotOf('axis'), slotOf('axis', 1)];
  const oval = slotOf('ovality');
  const puller = slotOf('puller');
  const zones = fields
    .flatMap((f, i) => (f.means === 'zone' ? [{ i, zone: f.zone ?? 1 }] : []))
    .sort((a, b) => a.zone - b.zone)
    .map(({ i }) => i);
  const hasOvality = oval >= 0 || x >= 0;
  const names = [
    'diameter',
    ...(hasOvality ? ['ovality'] : []),
    ...(puller >= 0 ? ['puller'] : []),
    ...zones.map(() => 'zone'),
  ];
  const isOwn = units.map((unit) => unit === 'mm' || unit === 'mm/s' || unit === '°C');
  const value = (row: Float64Array, slot: number): number =>
    isOwn[slot] ? row[slot + 1]! : inOwnUnit(row[slot + 1]!, units[slot]!);
  const readInto = (own: Float64Array, row: Float64Array): RowReason | undefined => {
    let diameter: number;
    let ovality = Number.NaN;
    if (x >= 0) {
      const [dx, dy] = [value(row, x), value(row, y)];
      if (dx <= 0 || dy <= 0) return 'no-strand';
      if (dx > THICKEST_STRAND_MM || dy > THICKEST_STRAND_MM) return 'beyond-belief';
      ovality = Math.abs(dx - dy);
      diameter = single >= 0 ? value(row, single) : (dx + dy) / 2;
    } else diameter = value(row, single);
    if (Number.isNaN(diameter)) return 'no-diameter';
    if (diameter <= 0) return 'no-strand';
    if (diameter > THICKEST_STRAND_MM) return 'beyond-belief';
    if (oval >= 0) ovality = value(row, oval);
    let k = 0;
    own[k++] = diameter;
    if (hasOvality) own[k++] = ovality;
    if (puller >= 0) own[k++] = value(row, puller);
    for (const slot of zones) own[k++] = value(row, slot);
    return undefined;
  };
  const log = (columns: readonly Float64Array[]): GaugeLog => {
    let k = 0;
    return {
      seconds: columns[k++]!,
      diameterMm: columns[k++]!,
      ...(hasOvality && { ovalityMm: columns[k++]! }),
      ...(puller >= 0 && { pullerMmPerSecond: columns[k++]! }),
      ...(zones.length > 0 && { zonesCelsius: columns.slice(k) }),
    };
  };
  const reading = (own: Float64Array, seconds: number): GaugeReading => {
    let k = 0;
    const diameterMm = own[k++]!;
    const ovalityMm = hasOvality ? own[k++]! : Number.NaN;
    const pullerMmPerSecond = puller >= 0 ? own[k++]! : Number.NaN;
    return {
      seconds,
      diameterMm,
      ...(!Number.isNaN(ovalityMm) && { ovalityMm }),
      ...(!Number.isNaN(pullerMmPerSecond) && { pullerMmPerSecond }),
      ...(zones.length > 0 && { zonesCelsius: [...own.subarray(k)] }),
    };
  };
  const claimedMm = (row: Float64Array): number =>
    x >= 0 ? Math.max(value(row, x), value(row, y)) : value(row, single);
  return { names, readInto, claimedMm, log, reading };
}
