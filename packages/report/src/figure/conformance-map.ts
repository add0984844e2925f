import { type ContourData, contourFigure } from './contour.ts';

/** A contour figure's data without what a probability settles by itself. */
export type ConformanceMapData = Omit<ContourData, 'value' | 'levels' | 'levelLabels'>;

/** Chances at which lines are drawn: closest where decisions are made. */
export const chanceLevels = [0.1, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 0.99];

/** The chance that product made at a setting conforms, over two factors; values in [0, 1]. */
export function conformanceMap(data: ConformanceMapData, prefix: string): string {
  const value = { label: 'chance of conforming' };
  return contourFigure(
    { ...data, value, levels: chanceLevels, levelLabels: chanceLevels.map(String) },
    prefix,
  );
}
