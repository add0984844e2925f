import type { Grade, Product } from '../trade/grade.ts';
import type { Line, SetPoints } from '../trade/line.ts';
import { assumedDensities, outputKgPerHour } from '../trade/output.ts';
import type { Hold } from './hold.ts';

/** What a plan costs. Grams count only while the screw turns. */
export interface PlanCost {
  readonly hours: number;
  readonly grams: number;
  /** Spools of `spoolKg` that the filament made would fill, rounded up. */
  readonly spools: number;
  readonly metres: number;
}

export interface CostedCell {
  readonly setPoints: SetPoints;
  readonly hold: Pick<Hold, 'seconds' | 'pumpedSeconds'>;
}

/**
 * Hours, grams and spools of cells in order: hold and measurement of each, at its own output.
 *
 * @param measureMinutes - time of measuring a cell; the line's own when absent
 * @param spoolKg - net mass of a spool
 */
export function planCost(
  cells: readonly CostedCell[],
  {
    line,
    grade = assumedDensities,
    product,
    measureMinutes = line.measureMinutes,
    spoolKg = 1,
  }: {
    readonly line: Line;
    readonly grade?: Pick<Grade, 'solidDensityGPerCm3' | 'meltDensityGPerCm3'>;
    readonly product?: Pick<Product, 'diameterMm'>;
    readonly measureMinutes?: number;
    readonly spoolKg?: number;
  },
): PlanCost {
  let seconds = 0;
  let grams = 0;
  for (const { setPoints, hold } of cells) {
    seconds += hold.seconds + 60 * measureMinutes;
    const pumpedHours = (hold.pumpedSeconds + 60 * measureMinutes) / 3600;
    grams += 1000 * pumpedHours * outputKgPerHour(line, setPoints.screwRpm, grade);
  }
  const areaMm2 = (Math.PI / 4) * (product?.diameterMm ?? 1.75) ** 2;
  return {
    hours: seconds / 3600,
    grams,
    spools: Math.ceil(grams / (1000 * spoolKg) - 1e-9),
    metres: grams / (areaMm2 * grade.solidDensityGPerCm3),
  };
}
