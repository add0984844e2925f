import type { Area } from './axis.ts';

/** Width of every figure in px: the reading width of the page. */
export const figureWidth = 680;
/** Width of a figure that stands beside another one, and on a phone needs no scrolling. */
export const halfWidth = 420;

/** How wide a figure is drawn: over the whole column, or so that two stand side by side. */
export interface FigureSize {
  /** Whole when absent. */
  readonly size?: 'whole' | 'half';
}

export const widthOf = ({ size }: FigureSize): number =>
  size === 'half' ? halfWidth : figureWidth;

/** The plotting area of a plain figure with room for axes and an axis name on top. */
export function plainArea({
  width = figureWidth,
  height = 320,
  left = 64,
  right = 24,
  top = 40,
  bottom = 48,
} = {}): Area {
  return { left, right: width - right, top, bottom: height - bottom };
}
