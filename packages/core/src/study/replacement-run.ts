import { pointKind } from '../design/point-kind.ts';
import { codedPoint, naturalPoint, type Point } from '../factor/coding.ts';
import { isNumeric } from '../factor/factor.ts';
import type { PlannedRun } from '../schedule/planned-run.ts';
import { pointOf, setPointsOf } from '../trade/limits.ts';
import { refusals } from '../trade/refusal.ts';
import { studyDefaults } from './run-table.ts';
import type { StudyState } from './state.ts';

/** How far a replacement is pulled towards the centre; 30 to 50 % is common practice, no source. */
export const pulledShare = 0.4;

/**
 * A cell in place of one that cannot be run: the same direction from the centre, 40 % nearer to it.
 * Null when the cell stands at the centre already, or when the nearer settings break a limit.
 */
export function replacementRun(state: StudyState, number: number): PlannedRun | null {
  const cell = state.cells[number - 1];
  if (!cell) return null;
  const { factors, line, grade, product } = state.opened;
  const numeric = factors.filter(isNumeric);
  if (numeric.every(({ name }) => Math.abs(Number(cell.run.coded[name])) < 1e-9)) return null;
  const pulled: Record<string, number | string> = { ...cell.run.coded };
  for (const { name } of numeric) pulled[name] = (1 - pulledShare) * Number(pulled[name]);
  const setPoints = setPointsOf(naturalPoint(pulled, factors), factors, line, studyDefaults(state));
  if (refusals(setPoints, line, grade, product).length > 0) return null;
  const natural: Point = pointOf(setPoints, factors, line);
  const coded = codedPoint(natural, factors);
  const largest = (plot: 'wholePlot' | 'subWholePlot'): number =>
    Math.max(0, ...state.cells.map(({ run }) => run[plot] ?? 0));
  const order = state.cells.length + 1;
  return {
    runOrder: order,
    designOrder: order,
    block: cell.run.block,
    // Its zones are set anew, so it belongs to no setting that others share.
    wholePlot: cell.run.wholePlot === null ? null : largest('wholePlot') + 1,
    subWholePlot: cell.run.subWholePlot === null ? null : largest('subWholePlot') + 1,
    kind: pointKind(coded, factors),
    coded,
    natural,
    setPoints,
    holdSeconds: null,
  };
}
