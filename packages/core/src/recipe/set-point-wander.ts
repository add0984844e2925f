import type { Point } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import type { SetUpWander, WanderAxis } from '../surface/set-up-wander.ts';
import { pointOf } from '../trade/limits.ts';
import type { Line, SetPoints } from '../trade/line.ts';

/** How far each kind of set point may stand from what was asked; a controller's step when left out. */
export interface SetPointTolerance {
  readonly zoneCelsius?: number;
  readonly screwRpm?: number;
  readonly fanPercent?: number;
  /** By factor name, for factors that the line does not know; their own step, else 0. */
  readonly other?: Readonly<Record<string, number>>;
}

/**
 * The wander of a line's set points in coded settings of the factors. Factors are linear in the set
 * points, so each axis is read off at one place and holds everywhere.
 *
 * @param at - any set points of the study
 */
export function setPointWander(
  at: SetPoints,
  { factors, line }: { readonly factors: readonly Factor[]; readonly line: Line },
  tolerance: SetPointTolerance = {},
): SetUpWander {
  const base = pointOf(at, factors, line);
  const axis = (name: string, unit: string, within: number, moved: SetPoints): WanderAxis => ({
    name,
    unit,
    within,
    shift: codedShift(base, pointOf(moved, factors, line), factors, within),
  });
  const zones = line.zones.map(({ name }, i) =>
    axis(name, '°C', tolerance.zoneCelsius ?? line.setPointStepCelsius, {
      ...at,
      zonesCelsius: at.zonesCelsius.map((celsius, z) => (z === i ? celsius + 1 : celsius)),
    }),
  );
  const screw = axis('screw', 'rpm', tolerance.screwRpm ?? line.screw.stepRpm, {
    ...at,
    screwRpm: at.screwRpm + 1,
  });
  const fan = axis('fan', '%', tolerance.fanPercent ?? line.fan.stepPercent, {
    ...at,
    fanPercent: at.fanPercent + 1,
  });
  const others = factors.flatMap((factor) => {
    const value = at.other[factor.name];
    if (!isNumeric(factor) || typeof value !== 'number') return [];
    const within = tolerance.other?.[factor.name] ?? factor.step ?? 0;
    const moved = { ...at, other: { ...at.other, [factor.name]: value + 1 } };
    return [axis(factor.name, factor.unit ?? '', within, moved)];
  });
  return { axes: [...zones, screw, fan, ...others] };
}

/** Change of each factor, coded, when one set point stands `within` above its value. */
function codedShift(from: Point, to: Point, factors: readonly Factor[], within: number) {
  return Float64Array.from(factors, (factor) => {
    if (!isNumeric(factor)) return 0;
    const natural = Number(to[factor.name]) - Number(from[factor.name]);
    return (2 * within * natural) / (factor.high - factor.low);
  });
}
