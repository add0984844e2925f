import type { Area } from './axis.ts';

/** Width of every figure in px: the reading width of the page. */
export const figureWidth = 680;

/** The plotting area of a plain figure with room for axes and an axis name on top. */
export function plainArea({
  height = 320,
  left = 64,
  right = 24,
  top = 40,
  bottom = 48,
} = {}): Area {
  return { left, right: figureWidth - right, top, bottom: height - bottom };
}
