import { brokenConstraints } from '../design/design.ts';
import { codedPoint, type Point } from '../factor/coding.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import { studyDefaults } from '../study/run-table.ts';
import { settingsOf } from '../surface/polynomial.ts';
import {
  type ResponseSurface,
  type SurfacePrediction,
  surfacePrediction,
} from '../surface/response-surface.ts';
import { ridgePath } from '../surface/ridge-path.ts';
import { steepestPath } from '../surface/steepest-path.ts';
import { pointOf, setPointsOf } from '../trade/limits.ts';
import type { SetPoints } from '../trade/line.ts';
import type { Predictor } from './predictor.ts';

/** One place on the way to better settings, as the operator would key it in. */
export interface ImprovementStep {
  /** Distance from the centre before rounding, coded. */
  readonly distance: number;
  readonly setPoints: SetPoints;
  /** What the rounded set points really make. */
  readonly natural: Point;
  readonly prediction: SurfacePrediction;
  /** Past what was studied: to be tried, not believed. */
  readonly isOutside: boolean;
  /** The first limit it breaks, in words; null when it keeps all. */
  readonly broken: string | null;
}

/** The way from the centre along which one response improves most. */
export interface ImprovementPath {
  readonly response: string;
  readonly aim: 'smallest' | 'largest';
  /** `ridge`: the best place on every sphere; `steepest`: a straight line by the slopes alone. */
  readonly kind: 'ridge' | 'steepest';
  readonly steps: readonly ImprovementStep[];
  readonly says: string;
}

/**
 * The improvement path of a response, in set points: the ridge path where the model bends, else the
 * path of steepest improvement. It ends at the first limit of line and grade. Null when the response
 * was not fitted or has no slope.
 */
export function improvementPath(predictor: Predictor, response: string): ImprovementPath | null {
  const { state, surfaces } = predictor;
  const { factors, responses } = state.opened;
  const surface = surfaces.find(({ name }) => name === response);
  if (!surface) return null;
  const goal = responses.find(({ name }) => name === response)?.goal;
  const aim = goal?.aim === 'largest' ? 'largest' : 'smallest';
  const bends = surface.terms.some((powers) => Object.values(powers).includes(2));
  const ridge = bends ? ridgePath({ surface, factors, aim }) : null;
  if (ridge?.kind === 'path') {
    const places = ridge.points.map(({ radius, natural }) => ({ distance: radius, natural }));
    const says = `The best ${response} at every distance from the centre, from the fitted surface with its bends.`;
    return { response, aim, kind: 'ridge', steps: stepsOf(predictor, surface, places), says };
  }
  const line = steepestPath({ surface, factors, aim });
  if (line.kind !== 'path') return null;
  const places = line.steps.map(({ distance, natural }) => ({ distance, natural }));
  return {
    response,
    aim,
    kind: 'steepest',
    steps: stepsOf(predictor, surface, places),
    says: line.says,
  };
}

function stepsOf(
  { state, constraints }: Predictor,
  surface: ResponseSurface,
  places: readonly { readonly distance: number; readonly natural: Point }[],
): ImprovementStep[] {
  const { factors, line } = state.opened;
  const out: ImprovementStep[] = [];
  for (const { distance, natural: wanted } of places) {
    const setPoints = setPointsOf(wanted, factors, line, studyDefaults(state));
    const natural = pointOf(setPoints, factors, line);
    const coded = codedPoint(natural, factors);
    const broken = brokenConstraints(coded, constraints)[0]?.says ?? null;
    out.push({
      distance,
      setPoints,
      natural,
      prediction: surfacePrediction(surface, settingsOf(coded, factors)),
      isOutside: factors.some(
        (factor) => isNumeric(factor) && Math.abs(Number(coded[factor.name])) > 1 + 1e-9,
      ),
      broken,
    });
    if (broken) break;
  }
  return out;
}
