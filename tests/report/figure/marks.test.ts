import {
  effectPlot,
  type Figure,
  figureSvg,
  halfNormalPlot,
  histogram,
  influenceBars,
  powerBars,
  residualPlot,
  stripChart,
  tracePlot,
} from '@strandwise/report';
import { describe, expect, it } from 'vitest';
import { effects, power, timeline } from './invented-figures.ts';

const words = { title: 't', description: 'd' } as const;
const count = (svg: string, pattern: RegExp): number => [...svg.matchAll(pattern)].length;

describe('effectPlot', () => {
  const data = effects as Extract<Figure, { kind: 'effects' }>;
  const only = (low: number, high: number) =>
    effectPlot(
      {
        ...data,
        effects: [
          {
            name: 'screw',
            range: '3 → 5 rpm',
            change: { estimate: (low + high) / 2, low, high },
            reading: 'r',
          },
        ],
      },
      'f',
    );

  it('opens the dot when the interval holds zero, and fills it when not', () => {
    expect(only(-5, 10)).toMatch(/r="5.5" fill="#ffffff"/);
    expect(only(2, 10)).toMatch(/r="5.5" fill="#1c5a78"/);
  });

  it('puts zero inside the axis whatever the effects', () => {
    expect(only(20, 30)).toContain('>0</text>');
  });

  it('keeps the order it is given', () => {
    const names = [...effectPlot(data, 'f').matchAll(/font-weight="bold"[^>]*>([^<]+)</g)].map(
      (m) => m[1],
    );
    expect(names).toEqual(['screw', 'screw × fan', 'level', 'hump', 'tilt']);
  });

  it('draws no best place beyond the range of its factor', () => {
    const shape = [
      [
        [185, 2],
        [195, 1],
        [205, 2],
      ],
    ] as const;
    const svg = effectPlot(
      {
        ...data,
        effects: [
          {
            name: 'level',
            range: 'r',
            shape,
            best: { at: 195, low: 150, high: 400 },
            reading: 'bowl',
          },
        ],
      },
      'f',
    );
    expect(svg).toMatch(/<path d="M408,[\d.]+L500,/);
  });
});

describe('powerBars', () => {
  it('says in words where a plan cannot tell, and opens bars that are not enough', () => {
    const svg = powerBars(power as Extract<Figure, { kind: 'power' }>, 'f');
    expect(svg).toContain('>cannot tell: C</text>');
    expect(count(svg, /<rect [^>]*fill="#ffffff" stroke="[^"]+" stroke-width="1.5"/g)).toBe(3);
  });
});

describe('histogram', () => {
  const data = {
    ...words,
    x: { label: 'diameter', unit: 'mm' },
    y: { label: 'readings' },
    bins: [
      { from: 0, to: 1, count: 2 },
      { from: 1, to: 2, count: 8 },
      { from: 2, to: 3, count: 0 },
    ],
  };

  it('opens and counts the bins outside the limits, and draws none for nothing', () => {
    const svg = histogram({ ...data, limits: { low: 1 } }, 'f');
    expect(count(svg, /<rect [^>]*stroke="#8c3a10"/g)).toBe(1);
    expect(count(svg, /<rect [^>]*fill="#1c5a78"/g)).toBe(1);
    expect(svg).toContain('lower limit');
    expect(svg).not.toContain('upper limit');
  });
});

describe('influenceBars', () => {
  it('opens and names only the runs above the guide', () => {
    const svg = influenceBars(
      {
        ...words,
        runOrders: [4, 9],
        panels: [{ label: 'l', guide: 0.5, guideWords: 'g', values: [0.2, 0.7] }],
      },
      'f',
    );
    expect([...svg.matchAll(/font-weight="bold"[^>]*>([^<]+)</g)].map((m) => m[1])).toEqual(['9']);
  });
});

describe('tracePlot', () => {
  const points = [
    [0, 1],
    [1, 1.2],
    [2, Number.NaN],
    [3, 0.8],
    [4, 1],
  ] as const;

  it('breaks the line at a missing reading and marks readings outside the tolerance', () => {
    const svg = tracePlot(
      {
        ...words,
        x: { label: 't' },
        y: { label: 'd' },
        points,
        tolerance: { low: 0.9, high: 1.1 },
      },
      'f',
    );
    expect(count(svg, /<path [^>]*stroke-width="1.1"/g)).toBe(2);
    expect(count(svg, /<circle [^>]*r="2.5"/g)).toBe(2);
  });
});

describe('residualPlot', () => {
  it('rings and names an outlying run and puts zero in the middle', () => {
    const svg = residualPlot(
      {
        ...words,
        x: { label: 'x' },
        y: { label: 'y' },
        over: 'values',
        points: [
          { x: 0, y: 1 },
          { x: 1, y: -4, label: 'run 14', isOutlying: true },
        ],
      },
      'f',
    );
    expect(count(svg, /r="7.5"/g)).toBe(1);
    expect(svg).toContain('>run 14</text>');
    const zero = /y1="([\d.]+)" x2="656" y2="\1" stroke="#17242c" stroke-width="1.25"/.exec(svg)!;
    expect(Number(zero[1])).toBeCloseTo((40 + 242) / 2, 2);
  });
});

describe('halfNormalPlot', () => {
  it('starts both axes at zero', () => {
    const svg = halfNormalPlot(
      {
        ...words,
        x: { label: 'q' },
        y: { label: 'size' },
        points: [
          { x: 0.5, y: 3 },
          { x: 1, y: 9 },
        ],
      },
      'f',
    );
    expect(svg).toMatch(/<text x="64" y="309"[^>]*>0\.0</);
    expect(svg).toMatch(/<text x="56" y="296"[^>]*>0</);
  });
});

describe('stripChart', () => {
  it('hides no value under another', () => {
    const svg = stripChart(
      { ...words, x: { label: 'x' }, groups: [{ name: 'g', values: [5, 5, 5, 9] }] },
      'f',
    );
    const dots = [...svg.matchAll(/<circle cx="([\d.]+)" cy="([\d.]+)" r="4"/g)].map(
      (m) => `${m[1]} ${m[2]}`,
    );
    expect(new Set(dots).size).toBe(4);
  });
});

describe('runTimeline', () => {
  it('numbers every cell and marks the failed ones by letter', () => {
    const svg = figureSvg(timeline, 'f');
    const letters = [...svg.matchAll(/font-size="8.5"[^>]*>([A-Z])</g)].map((m) => m[1]);
    // Two cold and one feed on the rows, and one of each in the key.
    expect(letters.sort()).toEqual(['C', 'C', 'C', 'F', 'F']);
    expect(svg.match(/font-size="10"[^>]*>\d+</g)).toHaveLength(18);
  });
});
