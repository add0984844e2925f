import type { SetPoints } from '../trade/line.ts';

/** True when two set points ask the same of the line, up to rounding of the arithmetic. */
export function setPointsSame(a: SetPoints, b: SetPoints): boolean {
  const close = (x: number | string | undefined, y: number | string | undefined): boolean =>
    typeof x === 'number' && typeof y === 'number' ? Math.abs(x - y) < 1e-6 : x === y;
  const names = new Set([...Object.keys(a.other), ...Object.keys(b.other)]);
  return (
    a.zonesCelsius.length === b.zonesCelsius.length &&
    a.zonesCelsius.every((celsius, i) => close(celsius, b.zonesCelsius[i])) &&
    close(a.screwRpm, b.screwRpm) &&
    close(a.fanPercent, b.fanPercent) &&
    [...names].every((name) => close(a.other[name], b.other[name]))
  );
}
