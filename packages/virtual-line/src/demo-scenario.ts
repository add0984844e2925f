import { Grade, Line, NumericFactor, Product } from '@strandwise/core';
import { px31, type VirtualGrade } from './virtual-grade.ts';

/** Everything a demonstration study needs. Lab, line and grade are invented. */
export interface Scenario {
  readonly lab: string;
  readonly grade: Grade;
  readonly line: Line;
  readonly product: Product;
  readonly factors: readonly NumericFactor[];
  readonly virtualGrade: VirtualGrade;
  /** Moisture of pellets fresh from the dryer, ppm. */
  readonly driedPpm: number;
}

const zone = (i: number, positionMm: number) => ({
  name: `zone ${i}`,
  positionMm,
  heaterLimitCelsius: 300,
});

/** Bench line 2 of an invented lab: four zones, a 16 mm screw, a one-axis gauge. */
export const demoLine: Line = Line.parse({
  name: 'bench line 2',
  zones: [zone(1, 60), zone(2, 140), zone(3, 220), zone(4, 300)],
  screw: {},
});

/** What the invented data sheet of PX-31 says. */
export const demoGrade: Grade = Grade.parse({
  name: 'PX-31 (invented)',
  family: 'PLA',
  lot: 'invented lot 7',
  meltingCelsius: 160,
  glassTransitionCelsius: 57,
  floorCelsius: 170,
  ceilingCelsius: 230,
  drying: { celsius: 80, hours: 4, mostMoisturePpm: 250 },
  solidDensityGPerCm3: px31.solidDensityGPerCm3,
  meltDensityGPerCm3: px31.meltDensityGPerCm3,
  hazards: ['fume: lactide and aldehydes when overheated'],
  sources: { meltingCelsius: 'data sheet', ceilingCelsius: 'data sheet' },
});

export const demoScenario: Scenario = {
  lab: 'invented filament lab',
  grade: demoGrade,
  line: demoLine,
  product: Product.parse({
    diameterMm: 1.75,
    toleranceMm: 0.045,
    mostBubblesPerMetre: 4,
    leastOutputKgPerHour: 0.15,
  }),
  factors: [
    { name: 'level', low: 182, high: 202, unit: '°C', changes: 'hard', acts: 'level' },
    { name: 'tilt', low: 0, high: 30, unit: '°C', changes: 'hard', acts: 'tilt' },
    { name: 'hump', low: 0, high: 16, unit: '°C', changes: 'hard', acts: 'hump' },
    { name: 'screw', low: 3, high: 7, unit: 'rpm', changes: 'semi-hard', acts: 'screw' },
    { name: 'fan', low: 20, high: 80, unit: '%', changes: 'easy', acts: 'fan' },
  ].map((factor) => NumericFactor.parse(factor)),
  virtualGrade: px31,
  driedPpm: 150,
};
