import {
  codedPoint,
  isNumeric,
  pointOf,
  refusals,
  type SetPoints,
  settingsOf,
} from '@strandwise/core';
import type { PagedStudy } from './paged-study.ts';
import type { SetPointKey } from './setting.ts';

const mostSteps = 80;

/** How far one set point may go alone with the chance kept; both ends are settings that can be keyed in. */
export interface SetPointWindow {
  readonly low: number;
  readonly high: number;
}

/**
 * The window of one set point, the others held: outward step by step from the recipe while line and
 * grade allow it, every factor stays in its studied range, and the chance asked is kept. Undefined
 * when there is no window, or when no factor moves with the set point.
 */
export function setPointWindow(
  { state, recipe, chance, asked }: PagedStudy,
  key: SetPointKey,
): SetPointWindow | undefined {
  if (!recipe?.window || !chance) return undefined;
  const { factors, line, grade, product } = state.opened;
  const start = key.value(recipe.setPoints);
  if (typeof start !== 'number') return undefined;
  const coded = (setPoints: SetPoints): Float64Array =>
    settingsOf(codedPoint(pointOf(setPoints, factors, line), factors), factors);
  const centre = coded(recipe.setPoints);
  const nudged = coded(key.with(recipe.setPoints, start + key.step));
  if (nudged.every((value, i) => Math.abs(value - centre[i]!) < 1e-9)) return undefined;
  const holds = (value: number): boolean => {
    const setPoints = key.with(recipe.setPoints, value);
    if (refusals(setPoints, line, grade, product).length > 0) return false;
    const settings = coded(setPoints);
    const isStudied = factors.every(
      (factor, i) =>
        !isNumeric(factor) || Math.abs(settings[i]!) <= Math.max(1, Math.abs(centre[i]!)) + 1e-9,
    );
    return isStudied && chance(settings) >= asked;
  };
  const farthest = (direction: 1 | -1): number => {
    let last = start;
    for (let n = 1; n <= mostSteps; n++) {
      const value = Number((start + direction * n * key.step).toFixed(6));
      if (!holds(value)) break;
      last = value;
    }
    return last;
  };
  return { low: farthest(-1), high: farthest(1) };
}
