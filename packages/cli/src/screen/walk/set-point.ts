import type { Line, SetPoints } from '@strandwise/core';

/** One thing that is keyed in, by its place in the list on the screen. */
export interface Setting {
  readonly name: string;
  readonly unit: string;
  readonly value: number | string;
}

export const settingCount = ({ zonesCelsius, other }: SetPoints): number =>
  zonesCelsius.length + 2 + Object.keys(other).length;

/** The setting at a place: zones first, then screw, fan and the others, as they are shown. */
export function settingAt(setPoints: SetPoints, at: number): Setting {
  const { zonesCelsius, screwRpm, fanPercent, other } = setPoints;
  const n = zonesCelsius.length;
  if (at < n) return { name: `zone ${at + 1}`, unit: '°C', value: zonesCelsius[at]! };
  if (at === n) return { name: 'screw', unit: 'rpm', value: screwRpm };
  if (at === n + 1) return { name: 'fan', unit: '%', value: fanPercent };
  const [name, value] = Object.entries(other)[at - n - 2]!;
  return { name, unit: '', value };
}

/** The set points with one changed. A setting that was a number stays one; null when it is not. */
export function withSetting(setPoints: SetPoints, at: number, text: string): SetPoints | null {
  const was = settingAt(setPoints, at).value;
  const value = typeof was === 'string' ? text.trim() : Number(text.trim().replace(',', '.'));
  if (value === '' || text.trim() === '' || Number.isNaN(value)) return null;
  const n = setPoints.zonesCelsius.length;
  if (typeof value === 'number' && at < n) {
    const zonesCelsius = setPoints.zonesCelsius.map((zone, i) => (i === at ? value : zone));
    return { ...setPoints, zonesCelsius };
  }
  if (typeof value === 'number' && at === n) return { ...setPoints, screwRpm: value };
  if (typeof value === 'number' && at === n + 1) return { ...setPoints, fanPercent: value };
  const name = Object.keys(setPoints.other)[at - n - 2]!;
  return { ...setPoints, other: { ...setPoints.other, [name]: value } };
}

/** How the controller shows it: a name for the place in the list, with the zone's own name. */
export const settingName = (setPoints: SetPoints, at: number, line: Line): string =>
  at < setPoints.zonesCelsius.length
    ? `zone ${at + 1} ${line.zones[at]?.name ?? ''}`.trim()
    : settingAt(setPoints, at).name;
