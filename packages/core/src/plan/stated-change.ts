import { z } from 'zod';
import type { StatedEffect } from '../design/properties/term-precision.ts';
import type { Factor } from '../factor/factor.ts';
import type { Response } from '../spec/spec.ts';
import type { Powers } from '../term/term.ts';

/**
 * The change worth finding and the noise it stands in.
 *
 * On the `percent` scale (a spread, a count, an output rate) both are percent of the response:
 * `effect` from low to high, `noise` from one cell to another set alike. On the `unit` scale they are
 * in the response's own unit. A bowl counts as `effect` high from its bottom to the edge.
 */
export const StatedChange = z.strictObject({
  scale: z.enum(['percent', 'unit']),
  effect: z.number().positive(),
  noise: z.number().positive(),
  /** Variance between zone settings set alike over that between cells of one setting. */
  plotRatio: z.number().min(0),
  /** The same for settings of the semi-hard factors. */
  subPlotRatio: z.number().min(0),
  /** Risk of a false alarm. */
  alpha: z.number().gt(0).lt(1),
});
export type StatedChange = z.infer<typeof StatedChange>;

/**
 * What is assumed when nothing is said: a 25 % change of SD against 15 % noise from cell to cell, and
 * resets of the hard factors as noisy again (common practice for a benchtop line, no source). For
 * a plain response the change is twice the noise.
 */
export function usualChange(
  factors: readonly Factor[],
  kind: Response['kind'] = 'spread',
): StatedChange {
  const isPercent = kind !== 'continuous';
  return {
    scale: isPercent ? 'percent' : 'unit',
    effect: isPercent ? 25 : 2,
    noise: isPercent ? 15 : 1,
    plotRatio: factors.some(({ changes }) => changes === 'hard') ? 1 : 0,
    subPlotRatio: 0,
    alpha: 0.05,
  };
}

/** Noise between cells of one setting on the modelled scale: logarithm for percent, else as it is. */
export const statedSigma = ({ scale, noise }: StatedChange): number =>
  scale === 'percent' ? Math.log1p(noise / 100) : noise;

/**
 * The coefficient, in coded units, that the stated change gives a term: half of it for a term
 * that runs from −1 to 1, all of it for a square, which runs from 0 to 1.
 */
export function statedEffect(powers: Powers, change: StatedChange): StatedEffect {
  const { scale, effect, alpha } = change;
  const size = scale === 'percent' ? Math.log1p(effect / 100) : effect;
  const numbers = Object.values(powers).filter((power) => typeof power === 'number');
  const isEven = numbers.length > 0 && numbers.every((power) => power % 2 === 0);
  const isPure = isEven && numbers.length === Object.keys(powers).length;
  return { coefficient: isPure ? size : size / 2, sigma: statedSigma(change), alpha };
}

/** "a 25 % change", "a change of 2 mm". */
export const changeWords = ({ scale, effect }: StatedChange, unit = ''): string =>
  scale === 'percent' ? `a ${effect} % change` : `a change of ${effect}${unit ? ` ${unit}` : ''}`;
