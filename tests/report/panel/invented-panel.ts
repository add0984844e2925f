import {
  Factor,
  type Fitted,
  fitFeasibility,
  type Grade,
  Line,
  leastSquares,
  limits,
  modelMatrix,
  modelTerms,
  naturalPoint,
  type Point,
  seededUniform,
  setPointsOf,
  singleBelief,
  termName,
} from '@strandwise/core';
import type { PanelModel, PanelResponse, SurfaceData } from '@strandwise/report';

// Invented line, grade and measurements; the fits are core's own.

export const line = Line.parse({
  name: 'bench line A (invented)',
  screw: {},
  zones: ['zone 1', 'zone 2', 'zone 3', 'zone 4'].map((name) => ({
    name,
    heaterLimitCelsius: 300,
  })),
});

export const factors = [
  { name: 'level', low: 185, high: 205, unit: '°C', changes: 'hard', acts: 'level' },
  { name: 'tilt', low: 0, high: 25, unit: '°C', changes: 'hard', acts: 'tilt' },
  { name: 'hump', low: -5, high: 15, unit: '°C', changes: 'hard', acts: 'hump' },
  { name: 'screw', low: 3.5, high: 6, unit: 'rpm', changes: 'semi-hard', acts: 'screw' },
  { name: 'fan', low: 0, high: 100, unit: '%', changes: 'easy', acts: 'fan' },
].map((factor) => Factor.parse(factor));

const grade: Grade = {
  name: 'PX-31 (invented)',
  family: 'PLA-like',
  floorCelsius: 175,
  ceilingCelsius: 215,
  solidDensityGPerCm3: 1.24,
  meltDensityGPerCm3: 1.07,
  hazards: [],
  sources: {},
};

const terms = modelTerms('quadratic', factors);
const uniform = seededUniform(31, 'invented panel');
const normal = (): number => Array.from({ length: 12 }, uniform).reduce((a, b) => a + b) - 6;

export const codedRuns: Point[] = Array.from({ length: 36 }, () =>
  Object.fromEntries(factors.map(({ name }) => [name, Math.round(uniform() * 4 - 2) / 2])),
);

const truths = {
  'ln SD': (p: Record<string, number>) =>
    Math.log(9.6) +
    0.16 * p.screw! -
    0.08 * p.fan! * p.screw! +
    0.24 * (p.level! + 0.1) ** 2 +
    0.1 * (p.hump! - 0.3) ** 2 -
    0.03 * p.tilt!,
  'ln bubbles': (p: Record<string, number>) =>
    Math.log(0.25) + 0.5 * p.level! + 0.2 * p.screw! + 0.1 * p.level! ** 2,
  output: (p: Record<string, number>) => 0.165 + 0.043 * p.screw! + 0.004 * p.level!,
} as const;

export const fits = Object.fromEntries(
  Object.entries(truths).map(([name, truth]) => {
    const sd = name === 'output' ? 0.004 : 0.09;
    const y = Float64Array.from(
      codedRuns,
      (p) => truth(p as Record<string, number>) + sd * normal(),
    );
    const fit = leastSquares({ x: modelMatrix(terms, codedRuns, factors), y });
    if (fit.kind !== 'fitted') throw new Error(`the invented ${name} is ${fit.kind}`);
    return [name, fit];
  }),
) as Record<keyof typeof truths, Fitted>;

const scales = { 'ln SD': 'ln response', 'ln bubbles': 'ln rate', output: 'response' } as const;

/** A fit of one stratum as a surface: its covariance, and one residual variance for a new set-up. */
function surfaceOf(name: string, key: keyof typeof truths): SurfaceData {
  const fit = fits[key];
  const noise = fit.residualSd ** 2;
  const covariance = fit.unscaledCovariance.data.map((value) => value * noise);
  return {
    name,
    scale: scales[key],
    terms,
    coefficients: fit.coefficients,
    covariance,
    noiseVariance: noise,
    df: fit.dfResidual,
    termDf: new Float64Array(terms.length).fill(fit.dfResidual),
    belief: singleBelief(fit.coefficients, covariance, { noise, df: fit.dfResidual }),
  };
}

const responses: readonly PanelResponse[] = [
  { unit: 'µm', surface: surfaceOf('SD of diameter', 'ln SD') },
  { unit: 'per m', surface: surfaceOf('bubbles', 'ln bubbles') },
  { unit: 'kg/h', surface: surfaceOf('output', 'output') },
];

/** Cells that failed cold below 188 °C at high speed, hot above 204 °C. */
const strandTerms = modelTerms('main', factors);
const strand = fitFeasibility({
  x: modelMatrix(strandTerms, codedRuns, factors),
  outcomes: codedRuns.map(({ level, screw }) =>
    Number(level) < -0.6 && Number(screw) > 0 ? 'cold' : Number(level) > 0.9 ? 'hot' : 'runs',
  ),
  names: strandTerms.map(termName),
});

const startNatural = naturalPoint(
  { level: -0.1, tilt: -0.2, hump: 0.3, screw: -0.4, fan: 0.1 },
  factors,
);

const zone = (i: number) =>
  ({
    name: `zone ${i + 1}`,
    sets: { kind: 'zone', zone: i },
    unit: '°C',
    low: 165,
    high: 225,
    step: 1,
  }) as const;

export const panelModel: PanelModel = {
  factors,
  line,
  grade,
  product: { diameterMm: 1.75 },
  start: setPointsOf(startNatural, factors, line),
  controls: [
    zone(0),
    zone(1),
    zone(2),
    zone(3),
    { name: 'screw', sets: { kind: 'screw' }, unit: 'rpm', low: 3, high: 7, step: 0.1 },
    { name: 'fan', sets: { kind: 'fan' }, unit: '%', low: 0, high: 100, step: 5 },
  ],
  limits: limits({ factors, line, grade }),
  confidence: 0.95,
  responses,
  requirements: [
    { response: 'SD of diameter', atMost: 12, says: 'SD of diameter at most 12 µm' },
    { response: 'bubbles', atMost: 1, says: 'at most 1 bubble per m' },
    { response: 'output', atLeast: 0.12, says: 'at least 0.12 kg/h' },
  ],
  chance: {
    says: 'Chance that a new set-up keeps all limits',
    strand: { result: strand, terms: strandTerms },
    seed: 5,
  },
  map: { response: 'SD of diameter', x: 'level', y: 'screw', levels: [9, 10, 11, 12, 13, 14, 16] },
};
