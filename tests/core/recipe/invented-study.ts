import type { MeasuredResponses, PlannedRun, SettingDefaults } from '@strandwise/core';
import {
  codedPoint,
  type Factor,
  freshCell,
  Grade,
  Line,
  type Point,
  Product,
  pointOf,
  poissonDraw,
  type ResponseModels,
  type StudyState,
  seededUniform,
  setPointsOf,
  standardNormal,
  studyFits,
} from '@strandwise/core';

export const line = Line.parse({
  name: 'bench line (invented)',
  zones: ['feed', 'middle', 'metering', 'die'].map((name) => ({ name, heaterLimitCelsius: 350 })),
  screw: {},
});

export const grade = Grade.parse({
  name: 'PX-31 (invented)',
  family: 'PLA',
  floorCelsius: 165,
  ceilingCelsius: 225,
  solidDensityGPerCm3: 1.24,
  meltDensityGPerCm3: 1.07,
});

export const factors: Factor[] = [
  { name: 'level', low: 185, high: 205, unit: '°C', changes: 'hard', acts: 'level' },
  { name: 'screw', low: 3, high: 6, unit: 'rpm', changes: 'easy', acts: 'screw' },
  { name: 'fan', low: 20, high: 80, unit: '%', changes: 'easy', acts: 'fan' },
];

const defaults: SettingDefaults = {
  zonesCelsius: [185, 198, 205, 202],
  screwRpm: 4.5,
  fanPercent: 50,
};

export interface InventedStudy {
  /** ln SD of diameter (mm) at coded settings. */
  readonly lnSd?: (x: Record<string, number>) => number;
  readonly sd?: number;
  /** ln bubbles per metre at coded settings; null leaves bubbles uncounted. */
  readonly lnBubbles?: ((x: Record<string, number>) => number) | null;
  readonly plotSd?: number;
  /** Cells in a whole plot of one level; 0 sets every cell anew. */
  readonly plotCells?: number;
  readonly repeats?: number;
  readonly product?: Partial<Product>;
  readonly seed?: number;
  /** Coded settings of cells that fail, and how. */
  readonly fails?: (x: Record<string, number>) => 'cold' | 'hot' | null;
}

const bowl = (x: Record<string, number>): number =>
  Math.log(0.009) + 0.5 * x['level']! ** 2 + 0.15 * x['screw']! + 0.2 * x['fan']! ** 2;

/** A study walked on an invented line: a face-centred composite of level, screw and fan. */
export function inventedStudy({
  lnSd = bowl,
  sd = 0.12,
  lnBubbles = (x) => -1.5 + 0.4 * x['level']!,
  plotSd = 0,
  plotCells = 0,
  repeats = 1,
  product = {},
  seed = 1,
  fails = () => null,
}: InventedStudy = {}): StudyState {
  const uniform = seededUniform(seed, 'invented study');
  let plotError = 0;
  const cells = settings(plotCells, repeats).map((x, i) => {
    if (plotCells > 0 && i % plotCells === 0) plotError = plotSd * standardNormal(uniform);
    const natural = naturalOf(x);
    const setPoints = setPointsOf(natural, factors, line, defaults);
    const real = codedPoint(pointOf(setPoints, factors, line), factors) as Record<string, number>;
    const run: PlannedRun = {
      runOrder: i + 1,
      designOrder: i + 1,
      block: 1,
      wholePlot: plotCells > 0 ? Math.floor(i / plotCells) + 1 : null,
      subWholePlot: null,
      kind: 'other',
      coded: real,
      natural: pointOf(setPoints, factors, line) as Record<string, number>,
      setPoints,
      holdSeconds: 600,
    };
    const error = plotError + sd * standardNormal(uniform);
    const measured = {
      diameterSdMm: Math.exp(lnSd(real) + error),
      diameterLnSdWeight: 80,
    } as MeasuredResponses;
    const bubbles = lnBubbles && {
      count: poissonDraw(8 * Math.exp(lnBubbles(real)), uniform),
      metres: 8,
    };
    const way = fails(real);
    const fresh = freshCell(i + 1, run, 'plan');
    if (way)
      return {
        ...fresh,
        status: 'failed' as const,
        entered: setPoints,
        failures: [{ direction: way, at: moment(i), setPoints }],
      };
    return {
      ...fresh,
      status: 'done' as const,
      entered: setPoints,
      enteredAt: moment(i),
      readings: { log: null, measured, values: {}, bubbles, recounts: [] },
    };
  });
  return {
    opened: {
      kind: 'study opened',
      name: 'invented',
      invented: true,
      grade,
      line,
      product: Product.parse({ diameterMm: 1.75, toleranceMm: 0.05, ...product }),
      factors,
      responses: [
        {
          name: 'SD of diameter',
          kind: 'spread',
          unit: 'mm',
          weight: 'weight of SD',
          goal: { aim: 'smallest', target: 0.008, high: 0.025 },
        },
        ...(lnBubbles
          ? [
              {
                name: 'bubbles',
                kind: 'count' as const,
                exposure: 'metres inspected',
                goal: { aim: 'smallest' as const, target: 0, high: 2 },
              },
            ]
          : []),
      ],
      fixed: { tilt: 17, hump: 13 },
      seed,
    },
    openedAt: moment(0),
    lastSeq: 1,
    lastAt: moment(99),
    people: ['operator'],
    plan: {
      family: 'central composite',
      model: 'quadratic',
      seed,
      order: 'complete',
      runs: cells.map(({ run }) => run),
      hours: 8,
      grams: 1500,
      notes: [],
    },
    planVersion: 1,
    cells,
    queue: [],
    checks: null,
    barrelHolds: null,
    scouting: [],
    models: {},
    notes: [],
    recipe: null,
    released: null,
    spools: [],
    isShutDown: false,
    undoable: [],
  } as unknown as StudyState;
}

export const fitsOf = (state: StudyState, models?: ResponseModels) => studyFits(state, models);

export const moment = (minute: number): string =>
  new Date(Date.UTC(2026, 0, 5, 8, minute)).toISOString();

export function naturalOf(x: Record<string, number>): Point {
  return Object.fromEntries(
    factors.map((factor) => {
      if (!('low' in factor)) throw new TypeError('numeric factors only');
      return [
        factor.name,
        (factor.low + factor.high) / 2 + (x[factor.name]! * (factor.high - factor.low)) / 2,
      ];
    }),
  );
}

function settings(plotCells: number, repeats: number): Record<string, number>[] {
  const names = factors.map(({ name }) => name);
  if (plotCells === 0) {
    const corners = Array.from({ length: 8 }, (_, mask) =>
      Object.fromEntries(names.map((name, i) => [name, (mask >> i) & 1 ? 1 : -1])),
    );
    const zero = Object.fromEntries(names.map((name) => [name, 0]));
    const axial = names.flatMap((name) => [-1, 1].map((value) => ({ ...zero, [name]: value })));
    const once = [...corners, ...axial, zero, zero, zero, zero];
    return Array.from({ length: repeats }, () => once).flat();
  }
  const inner = [-1, 0, 1].flatMap((screw) => [-1, 0, 1].map((fan) => ({ screw, fan })));
  let turn = 0;
  return Array.from({ length: repeats }, () => [-1, 0, 1, 0, 1, -1])
    .flat()
    .flatMap((level) =>
      Array.from({ length: plotCells }, () => ({ level, ...inner[(4 * turn++) % 9]! })),
    );
}
