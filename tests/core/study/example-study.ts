import {
  Grade,
  type Happening,
  Line,
  type NewEvent,
  type PlannedRun,
  Product,
} from '@strandwise/core';

/** An invented grade on an invented line; shared by the study tests. */
export const exampleLine = Line.parse({
  name: 'bench line (invented)',
  zones: ['feed', 'middle', 'metering', 'die'].map((name) => ({ name, heaterLimitCelsius: 350 })),
  screw: {},
});

export const exampleGrade = Grade.parse({
  name: 'PX-31 (invented)',
  family: 'PLA',
  floorCelsius: 165,
  ceilingCelsius: 225,
  solidDensityGPerCm3: 1.24,
  meltDensityGPerCm3: 1.07,
});

export const openedStudy: Happening = {
  kind: 'study opened',
  name: 'example',
  invented: true,
  grade: exampleGrade,
  line: exampleLine,
  product: Product.parse({ diameterMm: 1.75, toleranceMm: 0.05 }),
  factors: [
    { name: 'level', low: 185, high: 205, unit: '°C', changes: 'hard', acts: 'level' },
    { name: 'screw', low: 3, high: 6, unit: 'rpm', changes: 'semi-hard', acts: 'screw' },
  ],
  responses: [{ name: 'SD of diameter', kind: 'spread' }],
  fixed: { tilt: 20, hump: 10, fan: 50 },
  seed: 1,
};

export const setPoints = {
  zonesCelsius: [175, 192, 198, 195],
  screwRpm: 3,
  fanPercent: 50,
  other: {},
};

export function exampleRun(runOrder: number): PlannedRun {
  return {
    runOrder,
    designOrder: runOrder,
    block: 1,
    wholePlot: null,
    subWholePlot: null,
    kind: 'corner',
    coded: { level: -1, screw: 1 },
    natural: { level: 185, screw: 6 },
    setPoints,
    holdSeconds: 900,
  };
}

export const adoptedPlan = (cells: number): Happening => ({
  kind: 'plan adopted',
  plan: {
    family: 'full factorial',
    model: 'interactions',
    seed: 1,
    order: 'complete randomisation',
    runs: Array.from({ length: cells }, (_, i) => exampleRun(i + 1)),
    hours: 2,
    grams: 300,
    notes: [],
  },
});

/** The moments of a study's entries, a minute apart. */
export const at = (minute: number): string =>
  new Date(Date.UTC(2026, 0, 5, 8, minute)).toISOString();

export const entry = (what: Happening, minute = 0, who = 'operator'): NewEvent => ({
  at: at(minute),
  who,
  what,
});

/** A clock that ticks one second at each look. */
export function tickingClock(): { now(): number } {
  let now = Date.UTC(2026, 0, 5, 8);
  return {
    now: () => {
      now += 1000;
      return now;
    },
  };
}
