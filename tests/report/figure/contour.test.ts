import { contourFigure } from '@strandwise/report';
import { describe, expect, it } from 'vitest';
import {
  isoLines,
  lineLength,
  placeAlong,
  ringsAbove,
} from '../../../packages/report/src/figure/iso-line.ts';

type Place = readonly [number, number];

const field = (size: number, value: (x: number, y: number) => number) => ({
  columns: size,
  rows: size,
  values: Array.from({ length: size * size }, (_, k) =>
    value((k % size) / (size - 1), Math.floor(k / size) / (size - 1)),
  ),
});
const toUnit =
  (size: number) =>
  (column: number, row: number): Place => [column / (size - 1), row / (size - 1)];

describe('isoLines', () => {
  it('lies exactly on a plane at any level', () => {
    const lines = isoLines(
      field(11, (x) => x),
      0.37,
      toUnit(11),
    );
    expect(lines).toHaveLength(1);
    for (const [x] of lines[0]!) expect(x).toBeCloseTo(0.37, 12);
    const rows = lines[0]!.map(([, y]) => y);
    expect(Math.min(...rows)).toBe(0);
    expect(Math.max(...rows)).toBe(1);
  });

  it('stays within a thousandth of a circle and is as long as one, on a 61 × 61 grid', () => {
    const bowl = field(61, (x, y) => (x - 0.5) ** 2 + (y - 0.5) ** 2);
    const [line, ...others] = isoLines(bowl, 0.3 ** 2, toUnit(61));
    expect(others).toEqual([]);
    for (const [x, y] of line!)
      expect(Math.abs(Math.hypot(x - 0.5, y - 0.5) - 0.3)).toBeLessThan(1e-3);
    expect(lineLength(line!)).toBeCloseTo(2 * Math.PI * 0.3, 2);
  });

  it('gives no line when the level is outside the values', () => {
    expect(
      isoLines(
        field(5, (x) => x),
        2,
        toUnit(5),
      ),
    ).toEqual([]);
    expect(
      isoLines(
        field(5, (x) => x),
        -1,
        toUnit(5),
      ),
    ).toEqual([]);
  });

  it('cuts a saddle into two lines', () => {
    const saddle = field(21, (x, y) => (x - 0.5) * (y - 0.5));
    expect(isoLines(saddle, 0.05, toUnit(21))).toHaveLength(2);
  });
});

describe('ringsAbove', () => {
  it('encloses the area where the field is at least the level', () => {
    const rings = ringsAbove(
      field(101, (x, y) => x + y),
      1.5,
      toUnit(101),
    );
    const area = rings.reduce((sum, ring) => sum + shoelace(ring), 0);
    // The triangle beyond x + y = 1.5, plus half a grid step round its two outer sides.
    expect(Math.abs(area)).toBeCloseTo(0.125, 1);
  });
});

const shoelace = (ring: readonly Place[]): number =>
  ring.reduce((sum, [x, y], i) => {
    const [nx, ny] = ring[(i + 1) % ring.length]!;
    return sum + (x * ny - nx * y) / 2;
  }, 0);

describe('placeAlong', () => {
  it('keeps text upright whichever way the line runs', () => {
    const line: Place[] = [
      [10, 0],
      [0, 0],
    ];
    expect(placeAlong(line, 0.25)).toEqual({ at: [7.5, 0], degrees: 0 });
  });
});

const data = {
  title: 't',
  description: 'd',
  x: { label: 'level', unit: '°C', low: 190, high: 210 },
  y: { label: 'screw', unit: 'rpm', low: 3, high: 5 },
  value: { label: 'SD', unit: 'µm' },
  field: field(21, (x) => 10 + 10 * x),
} as const;

describe('contourFigure', () => {
  it('puts runs where their settings are', () => {
    const svg = contourFigure({ ...data, runs: [{ x: 200, y: 4, outcome: 'measured' }] }, 'f');
    const centre = /<circle cx="([\d.]+)" cy="([\d.]+)" r="4.5"/.exec(svg)!;
    // Plotting area: 64 to 656 px across, 430 to 40 px up.
    expect(Number(centre[1])).toBeCloseTo((64 + 656) / 2, 2);
    expect(Number(centre[2])).toBeCloseTo((430 + 40) / 2, 2);
  });

  it('tells failures apart by shape and letter, not by colour', () => {
    const outlineOf = (outcome: 'cold' | 'hot' | 'feed' | 'other') => {
      const svg = contourFigure({ ...data, runs: [{ x: 200, y: 4, outcome }] }, 'f');
      const mark =
        /<path d="(M[^"]+Z)" fill="#ffffff" stroke="#8c3a10"[^>]*\/><text[^>]*>([A-Z])</.exec(svg)!;
      return [mark[1], mark[2]] as const;
    };
    const marks = (['cold', 'hot', 'feed', 'other'] as const).map(outlineOf);
    expect(marks.map(([, letter]) => letter)).toEqual(['C', 'H', 'F', 'O']);
    expect(new Set(marks.map(([outline]) => outline)).size).toBe(4);
  });

  it('counts runs that stand on one another', () => {
    const run = { x: 200, y: 4, outcome: 'measured' } as const;
    expect(contourFigure({ ...data, runs: [run, run, run] }, 'f')).toContain('>×3<');
  });

  it('labels round levels', () => {
    const svg = contourFigure(data, 'f');
    for (const level of ['12', '14', '16', '18']) expect(svg).toContain(`>${level}</text>`);
  });

  it('hatches only what may not be run', () => {
    const margin = (bound: number) => ({
      margin: field(21, (x) => bound - x).values,
      says: 'too hot',
    });
    const hatched = /fill="url\(#f-\d+\)" stroke="#17242c" stroke-width="1.25"/;
    expect(contourFigure({ ...data, limit: margin(0.8) }, 'f')).toMatch(hatched);
    expect(contourFigure({ ...data, limit: margin(1.5) }, 'f')).not.toMatch(hatched);
  });

  it('escapes names that came from a file', () => {
    const svg = contourFigure(
      { ...data, title: '<script>alert(1)</script>', x: { ...data.x, label: '"><img src=x>' } },
      '"><b',
    );
    expect(svg).not.toMatch(/<script|<img|<b/);
    expect(svg).toContain('&lt;script&gt;');
  });
});
