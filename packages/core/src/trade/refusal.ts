import type { Grade, Product } from './grade.ts';
import { heaterMarginCelsius, zoneLimits } from './limits.ts';
import type { Line, SetPoints } from './line.ts';
import { lineSpeedMmPerSecond } from './output.ts';

export type RefusalCode =
  | 'zone_count'
  | 'below_floor'
  | 'above_ceiling'
  | 'above_heater_limit'
  | 'neighbour_step'
  | 'screw_range'
  | 'fan_range'
  | 'puller_range';

/** Why a setting is not run, in words that name the number and the limit. */
export interface Refusal {
  readonly code: RefusalCode;
  readonly says: string;
  /** Zone from the feed end, 1 first, when one zone is to blame. */
  readonly zone?: number;
}

/**
 * Every limit that the set points break; an empty list means none. Rounding is no excuse: `limits`
 * draws the step between neighbouring zones in to a multiple of the controller's, and zones that far
 * apart at most are no farther apart once both are rounded.
 */
export function refusals(
  setPoints: SetPoints,
  line: Line,
  grade: Grade,
  product?: Pick<Product, 'diameterMm'>,
): Refusal[] {
  const { zonesCelsius, screwRpm, fanPercent } = setPoints;
  if (zonesCelsius.length !== line.zones.length) {
    const says = `The line has ${line.zones.length} zones; ${zonesCelsius.length} temperatures were given.`;
    return [{ code: 'zone_count', says }];
  }
  const out: Refusal[] = zonesCelsius.flatMap((_, i) => zoneRefusals(i, setPoints, line, grade));
  const { lowRpm, highRpm } = line.screw;
  if (!(screwRpm >= lowRpm && screwRpm <= highRpm)) {
    const says = `Planned screw speed ${screwRpm} rpm is outside the line's ${lowRpm} to ${highRpm} rpm.`;
    out.push({ code: 'screw_range', says });
  }
  if (!(fanPercent >= 0 && fanPercent <= 100)) {
    out.push({ code: 'fan_range', says: `Planned fan ${fanPercent} % is outside 0 to 100 %.` });
  }
  if (product && screwRpm > 0) {
    const speed = lineSpeedMmPerSecond(line, screwRpm, product.diameterMm, grade);
    const { lowMmPerSecond: low, highMmPerSecond: high } = line.puller;
    if (speed < low || speed > high) {
      const says = `At ${screwRpm} rpm the puller would have to run at ${speed.toFixed(1)} mm/s; it runs from ${low} to ${high} mm/s.`;
      out.push({ code: 'puller_range', says });
    }
  }
  return out;
}

function zoneRefusals(i: number, setPoints: SetPoints, line: Line, grade: Grade): Refusal[] {
  const out: Refusal[] = [];
  const celsius = setPoints.zonesCelsius[i]!;
  const zone = i + 1;
  const name = line.zones[i]!.name;
  const { low, lowSays, highSays } = zoneLimits(i, line, grade);
  const heaterLimit = line.zones[i]!.heaterLimitCelsius;
  if (!(celsius >= low)) {
    const says = `Planned set point ${celsius} °C of ${name} is below ${lowSays}. Melt would be stiff or frozen there. The plan cannot include it.`;
    out.push({ code: 'below_floor', says, zone });
  }
  if (celsius > grade.ceilingCelsius) {
    const says = `Planned set point ${celsius} °C of ${name} is above the material's recorded ceiling ${grade.ceilingCelsius} °C. The plan cannot include it.`;
    out.push({ code: 'above_ceiling', says, zone });
  } else if (celsius > heaterLimit - heaterMarginCelsius) {
    const says = `Planned set point ${celsius} °C of ${name} is above ${highSays}. The plan cannot include it.`;
    out.push({ code: 'above_heater_limit', says, zone });
  }
  const next = setPoints.zonesCelsius[i + 1];
  if (next === undefined) return out;
  const largest = line.largestNeighbourStepCelsius;
  if (Math.abs(next - celsius) > largest + 1e-9) {
    const says = `${name} at ${celsius} °C and ${line.zones[i + 1]!.name} at ${next} °C are more than ${largest} °C apart; the barrel conducts and cannot hold that.`;
    out.push({ code: 'neighbour_step', says, zone });
  }
  return out;
}
