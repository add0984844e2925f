import type { LinearConstraint } from '../design/design.ts';
import { brokenConstraints } from '../design/design.ts';
import { codedPoint, naturalPoint, type Point } from '../factor/coding.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import type { FitResult } from '../fit/report/fit-result.ts';
import { planLimits } from '../plan/plan.ts';
import type { Goal } from '../spec/spec.ts';
import { fittedCells, studyDefaults } from '../study/run-table.ts';
import type { StudyState } from '../study/state.ts';
import { type AcceptableWindow, acceptableWindow } from '../surface/acceptable-window.ts';
import {
  bestJointDesirability,
  type JointPlace,
  type WantedResponse,
} from '../surface/best-joint-desirability.ts';
import {
  conformingProbability,
  type JudgedRequirement,
  keepingProbability,
} from '../surface/conformance.ts';
import { pointFromSettings, settingsOf } from '../surface/polynomial.ts';
import {
  backOnScale,
  meanVariance,
  type ResponseSurface,
  responseSurface,
  type SurfacePrediction,
  surfacePrediction,
} from '../surface/response-surface.ts';
import { pointOf, setPointsOf } from '../trade/limits.ts';
import type { SetPoints } from '../trade/line.ts';
import { productRequirements } from './requirement.ts';
import { type StrandForms, strandForms } from './strand-forms.ts';

/** One factor's part of a window, in its own unit. */
export interface WindowRange {
  readonly factor: string;
  readonly unit: string;
  readonly at: number;
  /** This factor alone may wander from low to high. */
  readonly alone: readonly [low: number, high: number];
  /** All factors may wander together within these. */
  readonly together: readonly [low: number, high: number];
  /** The studied range, beyond which nothing is known. */
  readonly studied: readonly [low: number, high: number];
}

/** A proposed recipe with all that is known of it. */
export interface Recipe {
  readonly natural: Point;
  readonly coded: Point;
  readonly setPoints: SetPoints;
  readonly joint: JointPlace;
  readonly predictions: readonly SurfacePrediction[];
  readonly requirements: readonly { readonly says: string; readonly probability: number | null }[];
  readonly strandForms: number;
  /** Probability that one new set-up conforms; null when the data cannot judge it. */
  readonly probability: number | null;
  readonly asked: number;
  readonly window: readonly WindowRange[] | null;
  readonly worstInWindow: number | null;
  /** Factors that stand at the end of their studied range. */
  readonly onEdge: readonly string[];
}

export type Recommendation =
  | ({ readonly kind: 'found' } & Recipe)
  /** Some response is useless everywhere; the nearest miss is told. */
  | ({ readonly kind: 'nowhere acceptable' } & Recipe)
  | { readonly kind: 'nothing feasible'; readonly says: string }
  | { readonly kind: 'no model'; readonly says: string };

/** Everything that predicts a study: surfaces, requirements, where a strand forms, what is allowed. */
export interface Predictor {
  readonly state: StudyState;
  readonly surfaces: readonly ResponseSurface[];
  readonly judged: readonly JudgedRequirement[];
  readonly strand: StrandForms;
  readonly constraints: readonly LinearConstraint[];
}

/** Probability asked of the window unless said otherwise. */
export const usualProbability = 0.9;

/** The predictor of a study's fits. */
export function predictorOf(state: StudyState, fits: FitResult): Predictor {
  const { factors, product, line, grade } = state.opened;
  const surfaces = fits.responses.flatMap((fit) => responseSurface(fit, factors) ?? []);
  const judged = productRequirements(product).flatMap((requirement) => {
    const surface = surfaces.find(({ name }) => name === requirement.response);
    return surface ? [{ requirement, surface }] : [];
  });
  const constraints = planLimits(factors, { line, grade, product, defaults: studyDefaults(state) });
  return { state, surfaces, judged, strand: strandForms(state), constraints };
}

/**
 * The settings that please all responses most, as set points, with what to expect there and how far
 * they may wander.
 *
 * @param asked - probability of conforming that the window must keep
 */
export function recommendation(predictor: Predictor, asked = usualProbability): Recommendation {
  const { state, constraints } = predictor;
  const { factors, seed } = state.opened;
  const responses = wantedResponses(predictor);
  if (responses.length === 0) return { kind: 'no model', says: noModelWords(state) };
  const best = bestJointDesirability({
    responses,
    factors,
    region: { kind: 'box', halfWidth: 1 },
    constraints,
    seed,
  });
  if (best.kind === 'nothing-feasible') {
    const says =
      'No setting inside the factor ranges keeps the limits of line and grade. Move the ranges.';
    return { kind: 'nothing feasible', says };
  }
  const kind = best.kind === 'found' ? 'found' : 'nowhere acceptable';
  return { kind, ...recipeAt(predictor, best.coded, best, asked) };
}

function noModelWords(state: StudyState): string {
  return fittedCells(state).length === 0
    ? 'No cell has been walked yet.'
    : 'No response with a goal could be fitted; see what each fit cannot say.';
}

/** Responses with goals, and the forming of a strand where failures were met. */
function wantedResponses({ state, surfaces, strand }: Predictor): WantedResponse[] {
  const wanted = state.opened.responses.flatMap(({ name, goal }): WantedResponse[] => {
    const surface = surfaces.find((candidate) => candidate.name === name);
    if (!goal || !surface) return [];
    return [{ name, goal, predict: cautiousValue(surface, goal) }];
  });
  if (wanted.length === 0 || strand.result?.kind !== 'fitted') return wanted;
  const goal: Goal = { aim: 'largest', low: 0.5, target: 0.98 };
  return [...wanted, { name: 'strand forms', goal, predict: strand.probability }];
}

/**
 * A response one standard error to the bad side of its fitted mean. The best of many fitted values
 * is often one that errs on the good side; a place that is well known deserves to win over it.
 */
function cautiousValue(
  surface: ResponseSurface,
  { aim }: Goal,
): (settings: Float64Array) => number {
  const side = aim === 'smallest' ? 1 : aim === 'largest' ? -1 : 0;
  return (settings) => {
    const error = side === 0 ? 0 : Math.sqrt(meanVariance(surface, settings) ?? 0);
    return backOnScale(surface, surface.mean(settings) + side * error);
  };
}

/** What is known of one place: rounded to what the controller takes, predicted, judged. */
export function recipeAt(
  predictor: Predictor,
  coded: Point,
  joint: JointPlace,
  asked: number,
): Recipe {
  const { state, surfaces, judged, strand } = predictor;
  const { factors, line } = state.opened;
  const setPoints = setPointsOf(naturalPoint(coded, factors), factors, line, studyDefaults(state));
  const natural = pointOf(setPoints, factors, line);
  const rounded = codedPoint(natural, factors);
  const settings = settingsOf(rounded, factors);
  const probability = conformingProbability(judged, strand.probability, settings);
  const window = windowAround(predictor, settings, asked);
  return {
    natural,
    coded: rounded,
    setPoints,
    joint,
    predictions: surfaces.map((surface) => surfacePrediction(surface, settings)),
    requirements: judged.map((each) => ({
      says: each.requirement.says,
      probability: keepingProbability(each, settings),
    })),
    strandForms: strand.probability(settings),
    probability,
    asked,
    window: window && windowRanges(state, settings, window),
    worstInWindow: window?.worst ?? null,
    onEdge: factors.flatMap((factor) =>
      isNumeric(factor) && Math.abs(Number(rounded[factor.name])) > 0.98 ? [factor.name] : [],
    ),
  };
}

function windowAround(
  predictor: Predictor,
  centre: Float64Array,
  asked: number,
): AcceptableWindow | null {
  const { state, judged, strand, constraints } = predictor;
  const { factors } = state.opened;
  // The probability is of one set-up; the centre may stand a rounding step outside ±1.
  const reach = Math.max(
    1,
    ...factors.map((factor, i) => (isNumeric(factor) ? Math.abs(centre[i]!) : 0)),
  );
  return acceptableWindow({
    centre,
    asked,
    reach,
    free: factors.flatMap((factor, i) => (isNumeric(factor) ? [i] : [])),
    probability: (settings) => conformingProbability(judged, strand.probability, settings) ?? 0,
    isAllowed: (settings) =>
      brokenConstraints(pointFromSettings(settings, factors), constraints).length === 0,
  });
}

function windowRanges(
  { opened }: StudyState,
  centre: Float64Array,
  { alone, together }: AcceptableWindow,
): WindowRange[] {
  return opened.factors
    .map((factor, i) => ({ factor, i }))
    .filter(({ factor }) => isNumeric(factor))
    .flatMap(({ factor, i }, f) => {
      if (!isNumeric(factor)) return [];
      const natural = (coded: number): number =>
        (factor.low + factor.high) / 2 + (coded * (factor.high - factor.low)) / 2;
      return [
        {
          factor: factor.name,
          unit: factor.unit ?? '',
          at: natural(centre[i]!),
          alone: [natural(alone[f]!.low), natural(alone[f]!.high)] as const,
          together: [natural(together[f]!.low), natural(together[f]!.high)] as const,
          studied: [factor.low, factor.high] as const,
        },
      ];
    });
}
