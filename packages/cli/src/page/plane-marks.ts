import {
  fittedCells,
  type NumericFactor,
  naturalPoint,
  type Point,
  pointFromSettings,
  pointOf,
  type StudyState,
} from '@strandwise/core';
import type { ContourData, ContourRun, Outcome } from '@strandwise/report';
import { axisOf } from './interaction-figure.ts';
import { failureOutcome } from './outcome.ts';
import type { PagedStudy } from './paged-study.ts';
import { type Plane, pinned } from './plane.ts';
import { heldText } from './setting.ts';

/** What every map over a plane carries: axes, runs, the recipe, limits, where the rest is held. */
export function planeMarks(
  { state, recipe }: PagedStudy,
  { x, y, room }: Plane,
): Pick<ContourData, 'x' | 'y' | 'runs' | 'recommended' | 'limit' | 'heldAt'> {
  const { factors } = state.opened;
  const natural = naturalPoint(pointFromSettings(pinned({ state, recipe }), factors), factors);
  const held = heldText(natural, factors, [x.name, y.name]);
  const inside = (value: number, { low, high }: NumericFactor): boolean =>
    value >= low && value <= high;
  const [atX, atY] = [Number(natural[x.name]), Number(natural[y.name])];
  return {
    x: { ...axisOf(x.name, x.unit), low: x.low, high: x.high },
    y: { ...axisOf(y.name, y.unit), low: y.low, high: y.high },
    runs: runsOn(state, x.name, y.name).filter((run) => inside(run.x, x) && inside(run.y, y)),
    ...(recipe && inside(atX, x) && inside(atY, y) ? { recommended: { x: atX, y: atY } } : {}),
    ...(room.some((margin) => margin < 0)
      ? { limit: { margin: [...room], says: 'not allowed by line or grade' } }
      : {}),
    ...(held === '' ? {} : { heldAt: held }),
  };
}

/** Every attempt that ended, where it stood in two factors. */
function runsOn(state: StudyState, x: string, y: string): ContourRun[] {
  const { factors, line } = state.opened;
  return fittedCells(state).flatMap((cell) => {
    const at = (natural: Point, outcome: Outcome): ContourRun => ({
      x: Number(natural[x]),
      y: Number(natural[y]),
      outcome,
    });
    const failed = cell.failures.map(({ direction, setPoints }) =>
      at(
        setPoints ? pointOf(setPoints, factors, line) : cell.run.natural,
        failureOutcome(direction),
      ),
    );
    const natural = cell.entered ? pointOf(cell.entered, factors, line) : cell.run.natural;
    return cell.status === 'done' ? [...failed, at(natural, 'measured')] : failed;
  });
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
