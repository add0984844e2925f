import { scaleColor } from '@strandwise/report';
import { describe, expect, it } from 'vitest';
import * as palette from '../../../packages/report/src/figure/palette.ts';

const linear = (hex: string): number[] =>
  [1, 3, 5].map((i) => {
    const c = Number.parseInt(hex.slice(i, i + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });

/** Relative luminance. Source: WCAG 2.2, definition of relative luminance (IEC 61966-2-1 sRGB). */
const luminance = (rgb: readonly number[]): number =>
  0.2126 * rgb[0]! + 0.7152 * rgb[1]! + 0.0722 * rgb[2]!;

const contrast = (a: string, b: string): number => {
  const [low, high] = [luminance(linear(a)), luminance(linear(b))].sort((x, y) => x - y) as [
    number,
    number,
  ];
  return (high + 0.05) / (low + 0.05);
};

// Full protanopia, deuteranopia and tritanopia in linear sRGB. Source: Machado, Oliveira & Fernandes
// (2009), IEEE Trans. Vis. Comput. Graph. 15(6), 1291–1298, severity 1.0; values from memory.
const deficits = {
  protanopia: [
    [0.152286, 1.052583, -0.204868],
    [0.114503, 0.786281, 0.099216],
    [-0.003882, -0.048116, 1.051998],
  ],
  deuteranopia: [
    [0.367322, 0.860646, -0.227968],
    [0.280085, 0.672501, 0.047413],
    [-0.01182, 0.04294, 0.968881],
  ],
  tritanopia: [
    [1.255528, -0.076749, -0.178779],
    [-0.078411, 0.930809, 0.147602],
    [0.004733, 0.691367, 0.3039],
  ],
} as const;

const steps = Array.from({ length: 33 }, (_, i) => scaleColor(i / 32));
const isFalling = (values: readonly number[]): boolean =>
  values.every((v, i) => i === 0 || v < values[i - 1]!);

describe('scaleColor', () => {
  it('darkens at every step, as on a grey print', () => {
    expect(isFalling(steps.map((hex) => luminance(linear(hex))))).toBe(true);
  });

  for (const [name, matrix] of Object.entries(deficits)) {
    it(`darkens at every step under ${name}`, () => {
      const seen = steps.map((hex) => {
        const rgb = linear(hex);
        return luminance(matrix.map((row) => row.reduce((sum, m, k) => sum + m * rgb[k]!, 0)));
      });
      expect(isFalling(seen)).toBe(true);
    });
  }

  it('keeps dark text readable on every colour (WCAG 2.2, 1.4.3: 4.5 to 1)', () => {
    for (const hex of steps) expect(contrast(hex, palette.ink)).toBeGreaterThanOrEqual(4.5);
  });

  it('clamps beyond its ends', () => {
    expect([scaleColor(-1), scaleColor(2)]).toEqual([steps[0], steps[32]]);
  });
});

describe('palette', () => {
  it('gives all text and marks on paper the contrast of text', () => {
    const colors = [
      palette.ink,
      palette.quiet,
      palette.accent,
      palette.warn,
      ...palette.seriesStyles.map(({ color }) => color),
    ];
    for (const color of colors) expect(contrast(color, palette.paper)).toBeGreaterThanOrEqual(4.5);
    expect(contrast(palette.quiet, palette.wash)).toBeGreaterThanOrEqual(4.5);
  });

  it('tells series apart by dash as well', () => {
    expect(new Set(palette.seriesStyles.map(({ dash }) => dash)).size).toBe(
      palette.seriesStyles.length,
    );
  });
});
