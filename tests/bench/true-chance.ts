import {
  type Line,
  normalLower,
  type Product,
  productRequirements,
  type SetPoints,
} from '@strandwise/core';
import { steadyState, usualUnrepeatability, type VirtualGrade } from '@strandwise/virtual-line';

/** What a chance is asked of: a grade on a line, for a product. */
export interface ChanceOf {
  readonly line: Line;
  readonly grade: VirtualGrade;
  readonly product: Product;
  /** Moisture of the pellets in the hopper, ppm. */
  readonly moisturePpm: number;
}

/** Pellets in an open hopper that is filled every hour stand about this much above the dryer, ppm. */
export const hopperGainPpm = 60;

/**
 * Chance that a new set-up with a new drying batch truly conforms at these set points, from the
 * equations of the virtual line: ln SD scatters normally by set-up and by batch, the bubbles' true
 * rate does not, and a strand must form.
 */
export function trueChance(
  settings: SetPoints,
  { line, grade, product, moisturePpm }: ChanceOf,
): number {
  const surroundings = { moisturePpm, roomCelsius: 23 };
  const state = steadyState({ settings, line, grade, product, surroundings });
  const [spread, bubbles] = productRequirements(product);
  const { resetLnSd, batchLnSd } = usualUnrepeatability;
  const room = Math.log(spread!.atMost! / state.sdMm) / Math.hypot(resetLnSd, batchLnSd);
  const keepsBubbles = state.bubblesPerMetre <= bubbles!.atMost! ? 1 : 0;
  return normalLower(room) * keepsBubbles * (1 - state.failureChance);
}
