import { naturalPoint, pointFromSettings } from '@strandwise/core';
import type { ContourData, ContourRun } from '@strandwise/report';
import { attempts } from './attempt.ts';
import { axisOf } from './interaction-figure.ts';
import type { PagedStudy } from './paged-study.ts';
import { type DrawnFactor, type Plane, pinned } from './plane.ts';
import { heldText } from './setting.ts';

/** What every map over a plane carries: axes, runs, the recipe, limits, where the rest is held. */
export function planeMarks(
  { state, recipe }: PagedStudy,
  { x, y, room }: Plane,
): Pick<ContourData, 'x' | 'y' | 'runs' | 'recommended' | 'limit' | 'heldAt'> {
  const { factors } = state.opened;
  const natural = naturalPoint(pointFromSettings(pinned({ state, recipe }), factors), factors);
  const held = heldText(natural, factors, [x.factor.name, y.factor.name]);
  const inside = (value: number, { low, high }: DrawnFactor): boolean =>
    value >= low && value <= high;
  const [atX, atY] = [Number(natural[x.factor.name]), Number(natural[y.factor.name])];
  return {
    x: { ...axisOf(x.factor.name, x.factor.unit), low: x.low, high: x.high },
    y: { ...axisOf(y.factor.name, y.factor.unit), low: y.low, high: y.high },
    runs: attempts(state).map(
      ({ natural: at, outcome }): ContourRun => ({
        x: Number(at[x.factor.name]),
        y: Number(at[y.factor.name]),
        outcome,
      }),
    ),
    ...(recipe && inside(atX, x) && inside(atY, y) ? { recommended: { x: atX, y: atY } } : {}),
    ...(room.some((margin) => margin < 0)
      ? { limit: { margin: [...room], says: 'not allowed by line or grade' } }
      : {}),
    ...(held === '' ? {} : { heldAt: held }),
  };
}

/** The edge of the window on a plane, where the chance asked is just kept. */
export function chanceBorder(
  { asked }: PagedStudy,
  { chance }: Plane,
): Pick<ContourData, 'window'> {
  if (!chance?.some((value) => value >= asked)) return {};
  return {
    window: {
      margin: chance.map((value) => value - asked),
      says: `chance of conforming ${asked}`,
    },
  };
}
