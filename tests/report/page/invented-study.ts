import type { StudyPageInput } from '@strandwise/report';
import * as figures from '../figure/invented-figures.ts';
import { panelModel } from '../panel/invented-panel.ts';

// An invented study: no grade, line, person or measurement of it is real.

const outcomes = [
  'measured',
  'measured',
  'measured',
  'cold',
  'measured',
  'measured',
  'measured',
  'measured',
  'feed',
] as const;

export const inventedStudy: StudyPageInput = {
  title: 'PX-31 on bench line A',
  answer:
    'Run the zones at 178, 193, 200 and 193\u202f°C with the screw at 4.2 rpm and the fan at 55\u202f%. A new set-up should then give a diameter SD of 9.8\u202fµm, and nine spools in ten should conform. Zone effects rest on four degrees of freedom.',
  notice: 'All data on this page are invented, to show how it looks.',
  job: [
    { name: 'grade', value: 'PX-31, a PLA-like copolymer, lot 0417' },
    { name: 'line', value: 'bench line A, 16 mm screw, 4 zones' },
    { name: 'product', value: '1.75 ± 0.03 mm, at most 1 bubble per m' },
    { name: 'people', value: 'planned by M. Example, walked by O. Example' },
  ],
  recipe: {
    kind: 'recommended',
    sentence:
      'These are set points rounded to what the controllers take; predictions are for the rounded values.',
    setPoints: [
      { name: 'zone 1, feed', value: 178, unit: '°C', window: { low: 175, high: 181 } },
      { name: 'zone 2', value: 193, unit: '°C', window: { low: 190, high: 196 } },
      { name: 'zone 3', value: 200, unit: '°C', window: { low: 197, high: 203 } },
      { name: 'zone 4, die', value: 193, unit: '°C', window: { low: 190, high: 196 } },
      { name: 'screw', value: 4.2, unit: 'rpm', decimals: 1, window: { low: 3.9, high: 4.5 } },
      { name: 'fan', value: 55, unit: '%', window: { low: 45, high: 65 } },
    ],
    confidence: '95 %',
    predictions: [
      {
        response: 'SD of diameter',
        unit: 'µm',
        mean: { estimate: 9.8, low: 8.4, high: 11.5 },
        newRun: { low: 7.6, high: 12.6 },
        wanted: 'at most 12 µm',
      },
      {
        response: 'bubbles',
        unit: 'per m',
        mean: { estimate: 0.21, low: 0.04, high: 0.7 },
        wanted: 'at most 1 per m',
      },
      {
        response: 'output',
        unit: 'kg/h',
        mean: { estimate: 0.1508, low: 0.1472, high: 0.1545 },
        newRun: { low: 0.141, high: 0.161 },
        wanted: 'at least 0.12 kg/h',
      },
    ],
    chance: { says: 'Chance that a spool conforms', estimate: 0.93, notBelow: 0.86 },
    wander: {
      sentence:
        'One at a time and all at once, the settings may wander by these amounts and the chance stays above 0.90.',
      amounts: [
        { name: 'level', amount: '±3.1 °C' },
        { name: 'tilt', amount: '±8 °C' },
        { name: 'hump', amount: '±4 °C' },
        { name: 'screw', amount: '±0.35 rpm' },
        { name: 'fan', amount: '±12 %' },
      ],
    },
    cautions: [
      'Not yet confirmed: no fresh set-up has been run at this point.',
      'Level 200 °C and above was lost twice to over-fluid melt.',
    ],
  },
  findings: [
    {
      response: 'SD of diameter',
      sentence:
        'Screw speed matters most, and the fan takes the edge off it. Level has a bowl; tilt cannot be told from nothing.',
      figures: [
        {
          caption: 'Slower is steadier: from 3.5 to 6 rpm the SD rises by 38 %',
          note: 'Open dots: the interval holds zero, so the direction is not known.',
          figure: figures.effects,
        },
        {
          caption: 'The fan earns its keep only when the screw is fast',
          figure: figures.interaction,
        },
      ],
    },
    { response: 'Bubbles', sentence: 'Only level moves them: hotter means more.', figures: [] },
  ],
  surfaces: [
    {
      caption: 'The bowl in level bottoms out at 194 °C',
      note: 'Deeper colour is a larger SD.',
      figure: figures.contour,
    },
    {
      caption: 'Nine spools in ten conform between 190 and 200 °C below 5.2 rpm',
      figure: figures.conformance,
    },
  ],
  overview: { caption: 'SD is moved mostly by the screw', figure: figures.shares },
  tradeOff: {
    sentence: 'Five settings, none of which betters another in everything.',
    figure: { caption: 'Two of 5 keep a chance of 0.9 or more', figure: figures.tradeOff },
    table: {
      caption: 'The numbered settings',
      columns: [
        { head: 'no.', holds: 'words' },
        { head: 'screw in rpm', holds: 'numbers' },
        { head: 'SD of diameter in mm', holds: 'numbers' },
      ],
      rows: [
        ['1', '3.0', { shown: '0.0080', below: '0.0069 … 0.0092', exported: 0.00801 }],
        ['2', '3.2', { shown: '0.0082', below: '0.0072 … 0.0094', exported: 0.00823 }],
      ],
    },
  },
  runs: {
    traces: { caption: 'Cell 6 left the tolerance', figure: figures.traceGrid },
    sentence:
      'Eighteen cells in six settings of the zones over two days; two failed cold and one did not feed.',
    setPoints: [
      { name: 'zone 1', unit: '°C' },
      { name: 'zone 2', unit: '°C' },
      { name: 'zone 3', unit: '°C' },
      { name: 'zone 4', unit: '°C' },
      { name: 'screw', unit: 'rpm', decimals: 1 },
      { name: 'fan', unit: '%' },
    ],
    responses: [
      { name: 'SD', unit: 'µm', decimals: 1 },
      { name: 'bubbles', unit: 'per m', decimals: 2 },
      { name: 'output', unit: 'kg/h', decimals: 3 },
    ],
    rows: Array.from({ length: 18 }, (_, i) => {
      const outcome = outcomes[i % 9]!;
      const isMeasured = outcome === 'measured';
      const setPoints = [
        174 + (i % 5),
        184 + 3 * (i % 4),
        191 + 4 * (i % 4),
        188 + 3 * (i % 3),
        3.5 + 0.5 * (i % 6),
        50 * (i % 3),
      ];
      return {
        runOrder: i + 1,
        zoneSetting: Math.floor(i / 3) + 1,
        setPoints,
        responses: isMeasured
          ? [9.4 + ((i * 37) % 50) / 10, ((i * 13) % 9) / 10, 0.121 + 0.017 * (i % 6)]
          : [null, null, null],
        outcome,
        ...(outcome === 'cold'
          ? { reason: 'strand unmelted, screw torque at its limit' }
          : outcome === 'feed'
            ? { reason: 'pellets bridged' }
            : {}),
      };
    }),
    figures: [
      { caption: 'Holding took three hours in five', figure: figures.timeline },
      { caption: 'Cell 7 had settled well before it was measured', figure: figures.trace },
    ],
  },
  plan: {
    sentence: 'An optimal split-plot plan: zones are set ten times, screw and fan change within.',
    facts: [
      { name: 'cells', value: '30 in 10 zone settings' },
      { name: 'time', value: '9.2 h, of which 5.2 h holds' },
      { name: 'resin', value: '1.6 kg' },
      { name: 'cannot tell apart', value: 'tilt × hump' },
    ],
    figures: [
      {
        caption: 'The plan sees screw and fan, and level two times in three',
        figure: figures.power,
      },
      {
        caption: 'Half of the region is predicted to within 0.5 SD',
        figure: figures.regionFraction,
      },
    ],
  },
  models: [
    {
      response: 'SD of diameter',
      verdict: 'None of 2 checks raises a concern.',
      sentence:
        'Split-plot REML on ln SD, in coded units: −1 is the low end of a factor and +1 the high end.',
      statistic: 't',
      terms: [
        {
          name: 'intercept',
          estimate: -4.5713,
          standardError: 0.0312,
          df: 5.1,
          statistic: -146.5,
          p: 1e-9,
        },
        {
          name: 'level',
          estimate: -0.0204,
          standardError: 0.0317,
          df: 4.4,
          statistic: -0.64,
          p: 0.55,
        },
        {
          name: 'screw',
          estimate: 0.1612,
          standardError: 0.0271,
          df: 11,
          statistic: 5.95,
          p: 0.0001,
        },
        {
          name: 'screw × fan',
          estimate: -0.0753,
          standardError: 0.0281,
          df: 11,
          statistic: -2.68,
          p: 0.021,
        },
        {
          name: 'level²',
          estimate: 0.2394,
          standardError: 0.0502,
          df: 4.2,
          statistic: 4.77,
          p: 0.008,
        },
      ],
      variance: [
        { name: 'between zone settings', sd: 0.061, low: 0.02, high: 0.14, df: 4 },
        { name: 'between cells', sd: 0.094, low: 0.066, high: 0.16, df: 11 },
      ],
      facts: [
        { name: 'lack of fit', value: 'none seen: p 0.41 on 6 and 5 df' },
        { name: 'smallest claim', value: 'gauge noise alone gives an SD of 4 µm' },
      ],
      checks: [
        {
          sentence: 'The scatter is even over the fitted values; run 14 stands apart.',
          figure: {
            caption: 'No funnel: the scatter does not grow with the fit',
            figure: figures.residualsFitted,
          },
        },
        {
          sentence: 'Nothing drifted over the two days.',
          figure: { caption: 'No drift over the run order', figure: figures.residualsOrder },
        },
        {
          sentence: 'The residuals are about normal.',
          figure: {
            caption: 'The residuals keep to the band of a normal sample',
            figure: figures.normalQuantile,
          },
        },
        {
          sentence: 'Cell 14 alone moves the hump by 3 °C.',
          figure: { caption: 'Only run 14 pulls the fit', figure: figures.influence },
        },
      ],
    },
  ],
  cannotSay: [
    'Whether tilt matters: its interval reaches from −24 % to +13 %.',
    'Tilt × hump cannot be told from curvature in tilt with these runs.',
    'Nothing about other lots: one lot was run.',
  ],
  next: {
    sentence:
      'Four more zone settings near the edge at 200 °C would lift the sure part of the chance from 0.86 to 0.91.',
    table: {
      caption: 'Four cells to add',
      columns: [
        { head: 'cell', holds: 'numbers' },
        { head: 'level in °C', holds: 'numbers' },
        { head: 'screw in rpm', holds: 'numbers' },
      ],
      rows: [
        ['1', '198', '3.9'],
        ['2', '200', '4.5'],
        ['3', '201.5', '4.2'],
        ['4', '196', '4.75'],
      ],
    },
  },
  provenance: [
    { name: 'seed', value: '20817' },
    { name: 'version', value: '0.1.0' },
    { name: 'events', value: '412' },
    {
      name: 'data',
      value: 'sha-256 3f1c0f3a9d0f6b0c2e7c1a7b5f9d4e8a6b2c1d0e9f8a7b6c5d4e3f2a1b0c9d8e',
    },
    { name: 'made on', value: '2025-03-14' },
  ],
  cautions: [
    'This page is planning information. It does not control the machine and is not a safety system.',
    'Barrel, die and melt are hot, and melt stands under pressure behind a cold nozzle: keep out of line with it.',
    'The safety data sheet, the machine’s manual, local rules and trained supervision prevail over anything said here.',
  ],
};

/** The same with the panel's program. */
export const withPanel = (script: string): StudyPageInput => ({
  ...inventedStudy,
  panel: { script, data: panelModel },
});
