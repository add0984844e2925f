import { seededUniform } from '@strandwise/core';
import type { Figure } from '@strandwise/report';

// Everything here is invented: no grade, line or measurement of these is real.

const normalDraws = (count: number, seed: number): number[] => {
  const uniform = seededUniform(seed, 'invented figures');
  return Array.from({ length: count }, () => {
    let sum = 0;
    for (let i = 0; i < 12; i++) sum += uniform();
    return sum - 6;
  });
};

const grid = (columns: number, rows: number, value: (x: number, y: number) => number): number[] =>
  Array.from({ length: columns * rows }, (_, k) =>
    value((2 * (k % columns)) / (columns - 1) - 1, (2 * Math.floor(k / columns)) / (rows - 1) - 1),
  );

export const lnSd = (level: number, screw: number): number =>
  -4.55 +
  0.16 * screw -
  0.03 * level +
  0.24 * level ** 2 +
  0.06 * screw ** 2 +
  0.05 * level * screw;

const axes = {
  x: { label: 'level', unit: '°C', low: 185, high: 205 },
  y: { label: 'screw', unit: 'rpm', low: 3.5, high: 6 },
} as const;

const runs = (
  [
    [185, 3.5, 'cold'],
    [205, 3.5, 'measured'],
    [185, 6, 'cold'],
    [205, 6, 'measured'],
    [195, 4.75, 'measured'],
    [195, 4.75, 'measured'],
    [195, 4.75, 'measured'],
    [195, 3.5, 'measured'],
    [195, 6, 'measured'],
    [205, 4.75, 'hot'],
    [188, 4.75, 'measured'],
    [190, 4, 'measured'],
    [190, 5.5, 'feed'],
    [200, 4, 'measured'],
    [200, 5.5, 'measured'],
    [203, 3.9, 'other'],
  ] as const
).map(([x, y, outcome]) => ({ x, y, outcome }));

export const contour: Extract<Figure, { kind: 'contour' }> = {
  kind: 'contour',
  title: 'SD of diameter over level and screw speed',
  description:
    'A bowl: the SD is smallest near 195 °C and 4 rpm and rises to twice that at the hot and cold ends. Two runs failed cold at 185 °C.',
  ...axes,
  value: { label: 'SD of diameter', unit: 'µm' },
  field: { columns: 41, rows: 41, values: grid(41, 41, (l, s) => 1000 * Math.exp(lnSd(l, s))) },
  levels: [10, 10.5, 11, 12, 13, 14, 15, 16],
  runs,
  recommended: { x: 195.4, y: 4.1 },
  window: {
    margin: grid(41, 41, (l, s) => 12 - 1000 * Math.exp(lnSd(l, s))),
    says: 'edge of the window: SD at most 12 µm',
  },
  limit: {
    margin: grid(41, 41, (l, s) => 1.15 - l - 0.35 * s),
    says: 'not allowed: zone 3 above the ceiling 210 °C',
  },
  heldAt: 'tilt 10 °C, hump 8 °C, fan 55 %',
};

export const conformance: Figure = {
  kind: 'conformance-map',
  title: 'Chance that a spool conforms',
  description:
    'The chance is above 0.9 in an island between 190 and 200 °C, at screw speeds below 5 rpm.',
  ...axes,
  field: {
    columns: 41,
    rows: 41,
    values: grid(41, 41, (l, s) => 1 / (1 + Math.exp(-(3.4 - 5.2 * l * l - 1.9 * (s + 0.3) ** 2)))),
  },
  runs,
  recommended: { x: 195, y: 4.3 },
};

const curve = (f: (t: number) => number, low: number, high: number): [number, number][] =>
  Array.from({ length: 21 }, (_, i) => {
    const t = i / 10 - 1;
    return [low + ((t + 1) / 2) * (high - low), f(t)];
  });

export const effects: Figure = {
  kind: 'effects',
  title: 'What moves the SD of diameter',
  description:
    'Screw speed raises the SD by 38 %. Level has a bowl with its lowest point near 194 °C. Fan helps only when the screw is fast.',
  change: { label: 'change in SD, 95 % interval', unit: '%' },
  effects: [
    {
      name: 'screw',
      range: '3.5 → 6 rpm',
      change: { estimate: 38, low: 21, high: 57 },
      shape: [curve((t) => Math.exp(0.16 * t), 3.5, 6)],
      reading: 'rises',
    },
    {
      name: 'screw × fan',
      range: 'fast against slow',
      change: { estimate: -26, low: -40, high: -9 },
      shape: [curve((t) => 0.15 * t, 3.5, 6), curve((t) => 0.02 - 0.02 * t, 3.5, 6)],
      reading: 'fan helps only when fast',
    },
    {
      name: 'level',
      range: '185 → 205 °C',
      change: { estimate: -4, low: -16, high: 9 },
      shape: [curve((t) => 0.24 * (t + 0.1) ** 2, 185, 205)],
      best: { at: 194, low: 188, high: 199 },
      reading: 'bowl: best near 194\u202f°C',
    },
    {
      name: 'hump',
      range: '−5 → 15 °C',
      change: { estimate: -3, low: -15, high: 11 },
      shape: [curve((t) => 0.1 * (t - 0.3) ** 2, -5, 15)],
      best: { at: 8, low: -1, high: 15 },
      reading: 'weak bowl: best near 8\u202f°C',
    },
    {
      name: 'tilt',
      range: '0 → 25 °C',
      change: { estimate: -7, low: -24, high: 13 },
      shape: [curve((t) => -0.03 * t, 0, 25)],
      reading: 'cannot tell',
    },
  ],
};

const noise = normalDraws(30, 7);
const quantiles = [...noise].map((_, i) => i + 1).map((i) => Math.log(i / (31 - i)) / 1.702);

export const residualsFitted: Extract<Figure, { kind: 'residuals' }> = {
  kind: 'residuals',
  title: 'Residuals over fitted values',
  description: 'The residuals scatter evenly about zero; run 14 lies lowest.',
  x: { label: 'fitted ln SD' },
  y: { label: 'residual over its standard error' },
  points: noise.map((y, i) => ({
    x: -4.6 + 0.02 * i,
    y,
    ...(i === 13 ? { label: 'run 14', isOutlying: true } : {}),
  })),
  over: 'values',
  guide: 3.2,
};

export const residualsOrder: Figure = {
  ...(residualsFitted as Extract<Figure, { kind: 'residuals' }>),
  title: 'Residuals over run order',
  description: 'No drift over the two days.',
  x: { label: 'run order' },
  points: noise.map((y, i) => ({ x: i + 1, y })),
  over: 'order',
};

export const normalQuantile: Figure = {
  kind: 'normal-quantile',
  title: 'Residuals against normal quantiles',
  description: 'The points follow the line within its band.',
  x: { label: 'normal quantile' },
  y: { label: 'residual over its standard error' },
  points: [...noise].sort((a, b) => a - b).map((y, i) => ({ x: quantiles[i]!, y })),
  line: { intercept: 0, slope: 1 },
  band: quantiles.map((q) => ({
    x: q,
    low: q - 0.45 - 0.12 * q * q,
    high: q + 0.45 + 0.12 * q * q,
  })),
};

export const halfNormal: Figure = {
  kind: 'half-normal',
  title: 'Sizes of effects against half-normal quantiles',
  description: 'Screw and level² stand off the line of the others.',
  x: { label: 'half-normal quantile' },
  y: { label: 'size of effect on ln SD' },
  points: [0.004, 0.011, 0.016, 0.024, 0.03, 0.037, 0.042, 0.15, 0.24, 0.32].map((y, i) => ({
    x: 0.06 + 0.21 * i + (i === 9 ? 0.15 : 0),
    y,
    ...(i === 9
      ? { label: 'screw' }
      : i === 8
        ? { label: 'level²' }
        : i === 7
          ? { label: 'screw × fan' }
          : {}),
  })),
  line: { intercept: 0, slope: 0.029 },
};

export const interaction: Extract<Figure, { kind: 'interaction' }> = {
  kind: 'interaction',
  title: 'Screw speed and fan together',
  description:
    'With the fan at 100 % the SD hardly rises with screw speed; with no fan it rises by two thirds.',
  x: { label: 'screw', unit: 'rpm' },
  y: { label: 'SD of diameter', unit: 'µm' },
  series: [
    {
      name: 'fan 0 %',
      points: curve((t) => 12.2 + 3 * t, 3.5, 6).map(([x, e]) => ({
        x,
        estimate: e,
        low: e * 0.92,
        high: e * 1.09,
      })),
    },
    {
      name: 'fan 100 %',
      points: curve((t) => 10.6 + 0.5 * t, 3.5, 6).map(([x, e]) => ({
        x,
        estimate: e,
        low: e * 0.93,
        high: e * 1.08,
      })),
    },
  ],
};

export const namedInteraction: Figure = {
  kind: 'interaction',
  title: 'Nozzle and fan together',
  description: 'The 3 mm nozzle is better at either fan setting.',
  x: { label: 'nozzle' },
  y: { label: 'SD of diameter', unit: 'µm' },
  levels: ['2.5 mm', '3 mm', '3 mm, polished'],
  series: ['fan 0 %', 'fan 100 %'].map((name, k) => ({
    name,
    points: [13, 11.2, 10.9].map((e, x) => ({
      x,
      estimate: e - 1.2 * k,
      low: e - 1.2 * k - 0.8,
      high: e - 1.2 * k + 0.9,
    })),
  })),
};

export const timeline: Figure = {
  kind: 'timeline',
  title: 'Two days at the line',
  description: 'Holds take most of the time; cells 4 and 11 failed cold, cell 9 failed to feed.',
  sessions: [0, 1].map((day) => ({
    name: `day ${day + 1}`,
    cells: Array.from({ length: 9 }, (_, i) => {
      const runOrder = day * 9 + i + 1;
      const start = 0.85 * i + (i > 4 ? 0.4 : 0);
      const hold = i % 3 === 0 ? 0.55 : 0.3;
      const outcome =
        runOrder === 4 || runOrder === 11 ? 'cold' : runOrder === 9 ? 'feed' : 'measured';
      return {
        runOrder,
        holdFromHour: start,
        measureFromHour: start + hold,
        endHour: start + hold + 0.2,
        outcome,
        zoneSetting: day * 3 + Math.floor(i / 3) + 1,
      } as const;
    }),
  })),
};

const wobble = normalDraws(900, 3);
export const trace: Figure = {
  kind: 'trace',
  title: 'Diameter during cell 7',
  description:
    'The strand settles within four minutes and stays inside 1.75 ± 0.03 mm from then on.',
  x: { label: 'time', unit: 's' },
  y: { label: 'diameter', unit: 'mm' },
  points: wobble.map(
    (w, t) =>
      [
        t,
        t > 610 && t < 622
          ? Number.NaN
          : 1.75 +
            0.09 * Math.exp(-t / 70) * Math.cos(t / 25) +
            0.006 * Math.sin((2 * Math.PI * t) / 13.3) +
            0.004 * w,
      ] as const,
  ),
  target: 1.75,
  tolerance: { low: 1.72, high: 1.78 },
  measured: { from: 400, to: 880 },
};

export const regionFraction: Figure = {
  kind: 'region-fraction',
  title: 'How well each plan predicts over the region',
  description:
    'Plan A has the smallest prediction error nearly everywhere; plan C is worst at the edge.',
  y: { label: 'standard error of prediction, in units of the error SD' },
  plans: (['A composite', 'B optimal split', 'C screening'] as const).map((name, k) => ({
    name,
    curve: Array.from(
      { length: 21 },
      (_, i) =>
        [
          i / 20,
          0.3 + 0.07 * k + (0.25 + 0.12 * k) * (i / 20) ** 2 + 0.3 * (i / 20) ** 12,
        ] as const,
    ),
  })),
};

export const influence: Figure = {
  kind: 'influence',
  title: 'Leverage and Cook distance of each run',
  description: 'Run 14 alone has a Cook distance above the guide.',
  runOrders: noise.map((_, i) => i + 1),
  panels: [
    {
      label: 'leverage',
      guide: 0.7,
      guideWords: 'twice the mean 0.35',
      values: noise.map((_, i) => 0.25 + 0.2 * Math.abs(Math.sin(i * 1.7))),
    },
    {
      label: 'Cook distance',
      guide: 0.5,
      guideWords: '0.5: worth a look',
      values: noise.map((v, i) => (i === 13 ? 0.62 : 0.09 * v * v)),
    },
  ],
};

export const strip: Figure = {
  kind: 'strip',
  title: 'SD at the centre cells by day',
  description: 'The two days agree within their intervals.',
  x: { label: 'SD of diameter', unit: 'µm' },
  groups: [
    {
      name: 'day 1',
      values: [10.2, 10.9, 11.1, 11.15, 12],
      mean: { estimate: 11.07, low: 10.3, high: 11.9 },
    },
    {
      name: 'day 2',
      values: [10.8, 11.4, 11.4, 11.42, 12.3],
      mean: { estimate: 11.46, low: 10.7, high: 12.2 },
    },
    { name: 'confirmation', values: [10.1, 10.6, 10.4] },
  ],
  limits: [{ at: 12.5, says: 'limit 12.5 µm' }],
};

export const power: Figure = {
  kind: 'power',
  title: 'Chance to see a 25 % change in SD',
  description: 'Plans A and B see screw and fan; only A is sure to see level.',
  plans: ['A', 'B', 'C'],
  effects: [
    { name: 'screw', power: [0.98, 0.94, 0.71] },
    { name: 'level', power: [0.97, 0.66, 0.58] },
    { name: 'screw × fan', power: [0.96, 0.91, null] },
  ],
};

export const bins: Figure = {
  kind: 'histogram',
  title: 'Diameter of the release spool',
  description: 'A bell about 1.749 mm; 14 readings lie above the upper limit.',
  x: { label: 'diameter', unit: 'mm' },
  y: { label: 'readings' },
  bins: Array.from({ length: 26 }, (_, i) => {
    const from = 1.715 + 0.003 * i;
    return {
      from,
      to: from + 0.003,
      count:
        Math.round(2200 * Math.exp(-(((from - 1.7475) / 0.0105) ** 2) / 2)) + (i === 23 ? 14 : 0),
    };
  }),
  limits: { low: 1.72, high: 1.78 },
  target: 1.75,
};

export const shares: Figure = {
  kind: 'shares',
  title: 'Which factors move which response',
  description: 'The screw has a hand in most of the SD, level in most of the bubbles.',
  factors: ['screw', 'level', 'fan', 'hump'],
  responses: [
    {
      name: 'SD of diameter',
      shares: [
        { alone: 0.44, total: 0.63, low: 0.41, high: 0.74 },
        { alone: 0.12, total: 0.27, low: 0.08, high: 0.48 },
        { alone: 0.02, total: 0.15, low: 0.04, high: 0.4 },
        null,
      ],
    },
    {
      name: 'bubbles',
      shares: [
        { alone: 0.03, total: 0.11 },
        { alone: 0.8, total: 0.84 },
        { alone: 0, total: 0.004 },
        { alone: 0.05, total: 0.05 },
      ],
    },
  ],
};

export const tradeOff: Figure = {
  kind: 'trade-off',
  title: 'What trades against what',
  description: 'Faster costs steadiness; hotter costs bubbles. Two of five keep the chance asked.',
  responses: [
    { label: 'SD of diameter', unit: 'mm', aim: 'smallest', atMost: 0.015 },
    { label: 'bubbles', unit: 'per m', aim: 'smallest', atMost: 4 },
    { label: 'output', unit: 'kg/h', aim: 'largest', atLeast: 0.02 },
  ],
  points: [
    { values: [0.008, 2.1, 0.1], isSure: true },
    { values: [0.0082, 1.6, 0.102], isSure: true },
    { values: [0.0118, 2.9, 0.17], isSure: false },
    { values: [0.0126, 1.8, 0.168], isSure: false },
    { values: [0.0145, 3.9, 0.21], isSure: null },
  ],
  recommended: [0.0103, 2.4, 0.141],
  sureSays: 'chance of conforming 0.9 or more',
};

export const traceGrid: Figure = {
  kind: 'trace-grid',
  title: 'The log of every cell',
  description: 'Seven logs; cell 4 failed cold and cell 6 left the limits.',
  target: 1.75,
  tolerance: { low: 1.705, high: 1.795 },
  unit: 'mm',
  cells: Array.from({ length: 7 }, (_, i) => ({
    cell: i + 1,
    says: i === 3 ? 'failed cold' : `SD 0.0${98 + 20 * i}`,
    ...(i === 3 ? { isFailed: true } : { measured: { from: 2, to: 10 + i } }),
    pieces: Array.from({ length: i === 3 ? 6 : 24 }, (_, k) => {
      const middle = 1.75 + 0.01 * Math.sin(k + i);
      const half = 0.008 + 0.006 * i * Math.abs(Math.cos(k));
      return { at: k * 0.55, low: middle - half, high: middle + half };
    }),
  })),
};

export const contourHalf: Figure = { ...contour, size: 'half' };
export const interactionHalf: Figure = { ...interaction, size: 'half' };
export const residualsHalf: Figure = {
  ...residualsFitted,
  size: 'half',
  lines: [
    { at: 0, says: '' },
    { at: 2.5, says: 'worth a look' },
  ],
};

export const inventedFigures: Readonly<Record<string, Figure>> = {
  contour,
  conformance,
  effects,
  residualsFitted,
  residualsOrder,
  normalQuantile,
  halfNormal,
  interaction,
  namedInteraction,
  timeline,
  trace,
  regionFraction,
  influence,
  strip,
  power,
  histogram: bins,
  shares,
  tradeOff,
  traceGrid,
  contourHalf,
  interactionHalf,
  residualsHalf,
};
