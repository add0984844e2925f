import {
  Factor,
  type Fitted,
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
  tUpperQuantile,
} from '@strandwise/core';
import type { PanelModel, PanelResponse } from '@strandwise/report';

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

function response(
  name: string,
  fit: Fitted,
  more: Pick<PanelResponse, 'scale'> & {
    unit: string;
    limits: NonNullable<PanelResponse['limits']>;
  },
): PanelResponse {
  return {
    name,
    ...more,
    terms,
    coefficients: [...fit.coefficients],
    covariance: [...fit.unscaledCovariance.data],
    covarianceScale: fit.residualSd ** 2,
    newRunVariance: more.scale === 'log-rate' ? null : fit.residualSd ** 2,
    df: fit.dfResidual,
    quantile: tUpperQuantile(0.025, fit.dfResidual),
  };
}

const responses = [
  response('SD of diameter', fits['ln SD'], { scale: 'ln', unit: 'µm', limits: { high: 12 } }),
  response('bubbles', fits['ln bubbles'], {
    scale: 'log-rate',
    unit: 'per m',
    limits: { high: 1 },
  }),
  response('output', fits.output, { scale: 'identity', unit: 'kg/h', limits: { low: 0.12 } }),
];

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
  confidence: '95 %',
  responses,
  chance: {
    says: 'Chance that a new set-up keeps all limits',
    responses: responses.map(({ name, coefficients, newRunVariance }) => ({
      response: name,
      coefficients: Array.from({ length: 200 }, () =>
        coefficients.map((b) => b + 0.01 * normal() * Math.max(0.05, Math.abs(b))),
      ),
      scatter: Array.from({ length: 200 }, () => Math.sqrt(newRunVariance ?? 0) * normal()),
    })),
  },
  map: { response: 'SD of diameter', x: 'level', y: 'screw', levels: [9, 10, 11, 12, 13, 14, 16] },
};
