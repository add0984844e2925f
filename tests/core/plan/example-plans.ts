import {
  Factor,
  Grade,
  Line,
  type PlanRequest,
  type PlanSurroundings,
  Product,
  zoneTemperatures,
} from '@strandwise/core';

/** An invented line and grade, as roomy as a bench line is. */
export const line = Line.parse({
  name: 'bench line (invented)',
  zones: ['feed', 'middle', 'metering', 'die'].map((name) => ({ name, heaterLimitCelsius: 300 })),
  screw: {},
});
export const grade = Grade.parse({
  name: 'PX-31 (invented)',
  family: 'PLA',
  meltingCelsius: 160,
  floorCelsius: 170,
  ceilingCelsius: 230,
  solidDensityGPerCm3: 1.24,
  meltDensityGPerCm3: 1.07,
});

export const surroundings: PlanSurroundings = {
  line,
  grade,
  product: Product.parse({ diameterMm: 1.75, toleranceMm: 0.03 }),
  defaults: {
    zonesCelsius: zoneTemperatures({ level: 200, tilt: 20, hump: 10 }, line),
    screwRpm: 5,
    fanPercent: 50,
  },
};

export const level = Factor.parse({
  name: 'level',
  low: 190,
  high: 210,
  unit: '°C',
  changes: 'hard',
  acts: 'level',
});
export const screw = Factor.parse({
  name: 'screw',
  low: 3.5,
  high: 6.5,
  unit: 'rpm',
  changes: 'semi-hard',
  acts: 'screw',
});
export const fan = Factor.parse({
  name: 'fan',
  low: 25,
  high: 75,
  unit: '%',
  changes: 'easy',
  acts: 'fan',
});

/** Three factors on the line. */
export const basis = { factors: [level, screw, fan], seed: 1, surroundings };

export const request = (family: string, more: Partial<PlanRequest> = {}): PlanRequest => ({
  ...basis,
  family,
  model: 'quadratic',
  ...more,
});

/** Easy factors without a line: plain coded units. */
export const plainFactors = (count: number): Factor[] =>
  Array.from({ length: count }, (_, i) =>
    Factor.parse({ name: `x${i + 1}`, low: -1, high: 1, changes: 'easy' }),
  );
