import { DomainError } from '../error/domain-error.ts';
import type { Grade } from './grade.ts';
import type { Line } from './line.ts';

/** Helix angle of a square-pitch screw, tan φ = 1/π. */
const squarePitchRadians = Math.atan(1 / Math.PI);

/** Densities used when no grade is given: those of a PLA family grade (from memory). */
export const assumedDensities = { solidDensityGPerCm3: 1.24, meltDensityGPerCm3: 1.07 } as const;
export type Densities = Pick<Grade, 'solidDensityGPerCm3' | 'meltDensityGPerCm3'>;

/** Heat capacity of a solidifying strand, J/(kg K): about 1800 for most polymers (from memory). */
const strandHeatCapacity = 1800;

/**
 * Drag flow of a square-pitch metering channel with one flight: ½ π² D² N H sin φ cos φ.
 *
 * Pressure back-flow and leakage are left out: on a benchtop die they are minor.
 *
 * @param screw - diameter and metering depth in mm
 * @param rpm - screw speed
 * @returns cm³ of melt a minute
 * @source Tadmor & Gogos, Principles of Polymer Processing (drag-flow term; from memory)
 */
export function dragFlowCm3PerMinute(
  { diameterMm, meteringDepthMm }: Line['screw'],
  rpm: number,
): number {
  const { sin, cos, PI } = Math;
  const mm3PerTurn =
    0.5 *
    PI ** 2 *
    diameterMm ** 2 *
    meteringDepthMm *
    sin(squarePitchRadians) *
    cos(squarePitchRadians);
  return (mm3PerTurn * rpm) / 1000;
}

/** Melt pumped, cm³/min: the line's measured volume a turn when known, else drag flow. */
export function outputCm3PerMinute(line: Pick<Line, 'screw' | 'outputCm3PerTurn'>, rpm: number) {
  return line.outputCm3PerTurn === undefined
    ? dragFlowCm3PerMinute(line.screw, rpm)
    : line.outputCm3PerTurn * rpm;
}

/**
 * Mean residence time of melt in the barrel, hold-up over volume flow; minutes.
 *
 * @throws {DomainError} `screw_speed` when rpm is not above 0
 */
export function meanResidenceMinutes(
  line: Pick<Line, 'screw' | 'outputCm3PerTurn' | 'holdUpCm3'>,
  rpm: number,
): number {
  if (!(rpm > 0)) {
    throw new DomainError(
      'screw_speed',
      `meanResidenceMinutes: rpm must exceed 0; got ${rpm}. A barrel without flow has no residence time.`,
      { rpm },
    );
  }
  return line.holdUpCm3 / outputCm3PerMinute(line, rpm);
}

/** Mass of filament made, kg/h. */
export function outputKgPerHour(
  line: Pick<Line, 'screw' | 'outputCm3PerTurn'>,
  rpm: number,
  { meltDensityGPerCm3 }: Pick<Densities, 'meltDensityGPerCm3'> = assumedDensities,
): number {
  return (outputCm3PerMinute(line, rpm) * meltDensityGPerCm3 * 60) / 1000;
}

/** Speed of the solid strand at the puller that holds `diameterMm`, from the mass balance; mm/s. */
export function lineSpeedMmPerSecond(
  line: Pick<Line, 'screw' | 'outputCm3PerTurn'>,
  rpm: number,
  diameterMm: number,
  { meltDensityGPerCm3, solidDensityGPerCm3 }: Densities = assumedDensities,
): number {
  const solidMm3PerSecond =
    ((outputCm3PerMinute(line, rpm) * 1000) / 60) * (meltDensityGPerCm3 / solidDensityGPerCm3);
  return (4 * solidMm3PerSecond) / (Math.PI * diameterMm ** 2);
}

/** Surface heat transfer under the fan, W/(m² K): 10 + 55 f^0.6, f from 0 to 1 (from memory). */
export const heatTransfer = (fanPercent: number): number => 10 + 55 * (fanPercent / 100) ** 0.6;

/**
 * Time constant of a strand cooling in air, ρ c_p d / (4 h); s.
 *
 * @param diameterMm - strand diameter
 * @param fanPercent - 0 to 100
 */
export function coolingSeconds(
  diameterMm: number,
  fanPercent: number,
  { solidDensityGPerCm3 }: Pick<Densities, 'solidDensityGPerCm3'> = assumedDensities,
): number {
  const volumetricHeat = solidDensityGPerCm3 * 1000 * strandHeatCapacity;
  return (volumetricHeat * (diameterMm / 1000)) / (4 * heatTransfer(fanPercent));
}

/**
 * Share of the outflow that has left after `barrelVolumes` mean residence times: the
 * residence-time distribution of an ideal Newtonian single screw.
 *
 * With ξ from 2/3 to 1 and r = √(1 + 2ξ − 3ξ²): F = ½[3ξ² − 1 + (ξ − 1) r] and
 * t/τ̄ = (3ξ − 1 + 3r) / (6 ξ (1 − ξ + r)). Nothing leaves before 0.75 τ̄.
 *
 * @returns 0 to 1
 * @source Pinto & Tadmor (1970), Polym. Eng. Sci. 10:279 (from memory); percentiles tested
 */
export function flushedShare(barrelVolumes: number): number {
  if (barrelVolumes <= 0.75) return 0;
  let low = 2 / 3;
  let high = 1;
  for (let i = 0; i < 60; i++) {
    const xi = (low + high) / 2;
    if (residenceAt(xi) < barrelVolumes) low = xi;
    else high = xi;
  }
  return shareAt((low + high) / 2);
}

/** Barrel volumes after which `share` of the outflow is renewed; the inverse of `flushedShare`. */
export function barrelVolumesFor(share: number): number {
  if (!(share >= 0 && share < 1)) {
    throw new DomainError(
      'share_range',
      `barrelVolumesFor: share must lie from 0 to below 1; got ${share}. The last trace never leaves.`,
      { share },
    );
  }
  let low = 2 / 3;
  let high = 1;
  for (let i = 0; i < 60; i++) {
    const xi = (low + high) / 2;
    if (shareAt(xi) < share) low = xi;
    else high = xi;
  }
  return residenceAt((low + high) / 2);
}

/** √(1 + 2ξ − 3ξ²), factored as (1 − ξ)(1 + 3ξ) so that it keeps its digits near ξ = 1. */
const root = (xi: number): number => Math.sqrt(Math.max(0, (1 - xi) * (1 + 3 * xi)));
const shareAt = (xi: number): number => 0.5 * (3 * xi * xi - 1 + (xi - 1) * root(xi));
const residenceAt = (xi: number): number =>
  (3 * xi - 1 + 3 * root(xi)) / (6 * xi * (1 - xi + root(xi)));
