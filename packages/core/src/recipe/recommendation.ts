import { brokenConstraints } from '../design/design.ts';
import { codedPoint, naturalPoint, type Point } from '../factor/coding.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import { fittedCells, studyDefaults } from '../study/run-table.ts';
import type { StudyState } from '../study/state.ts';
import {
  bestJointDesirability,
  type JointPlace,
  type WantedResponse,
} from '../surface/best-joint-desirability.ts';
import { keepingProbability } from '../surface/conformance.ts';
import { desirability, jointDesirability } from '../surface/desirability.ts';
import { type LargestBox, largestBox } from '../surface/largest-box.ts';
import { linearLimits } from '../surface/linear-limits.ts';
import { pointFromSettings, settingsOf } from '../surface/polynomial.ts';
import { type SurfacePrediction, surfacePrediction } from '../surface/response-surface.ts';
import { pointOf, setPointsOf } from '../trade/limits.ts';
import type { SetPoints } from '../trade/line.ts';
import { type Chance, chanceAt, type Shortfall, shareWords, shortfallOf } from './chance.ts';
import { conformingPlace } from './conforming-place.ts';
import type { Predictor } from './predictor.ts';
import {
  type RecipeWindow,
  recipeWindow,
  type SetPointRange,
  type WindowRange,
} from './recipe-window.ts';
import { wantedResponses } from './wanted-response.ts';

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
  /** The same with its doubts; null when the data cannot judge it. */
  readonly chance: Chance | null;
  readonly asked: number;
  readonly window: readonly WindowRange[] | null;
  /** The window in set points. */
  readonly setPointWindow: readonly SetPointRange[] | null;
  readonly worstInWindow: number | null;
  /** Factors that stand at the end of their studied range. */
  readonly onEdge: readonly string[];
}

/** What a recommendation adds to its recipe. */
export interface Recommended extends Recipe {
  /** The settings that please all responses most, whatever their room. */
  readonly winner: Recipe;
  /** Why no setting conforms as asked; null when some does. */
  readonly shortfall: Shortfall | null;
  /** How the recipe was chosen, in words. */
  readonly says: string;
}

export type Recommendation =
  | ({ readonly kind: 'found' } & Recommended)
  /** Some response is useless everywhere; the nearest miss is told. */
  | ({ readonly kind: 'nowhere acceptable' } & Recommended)
  | { readonly kind: 'nothing feasible'; readonly says: string }
  | { readonly kind: 'no model'; readonly says: string };

/** Probability asked of the window unless said otherwise. */
export const usualProbability = 0.9;

/**
 * Shares of the winner's joint desirability that the centre of a window must keep, one after the
 * other: a little is given up gladly for room, more only where nothing better has any.
 */
const KEPT_DESIRABILITY: readonly number[] = [0.9, 0.6, 0.3];

/**
 * The recipe: the centre of the largest box of settings that conform with the probability asked, so
 * that every set point has room, among settings nearly as desirable as the best. Beside it the
 * winner by joint desirability alone. Where nothing conforms as asked, the winner, and why.
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
  const winner = recipeAt(predictor, best.coded, best, asked);
  return { kind, ...chosenRecipe(predictor, { winner, responses, asked }) };
}

function chosenRecipe(
  predictor: Predictor,
  {
    winner,
    responses,
    asked,
  }: {
    readonly winner: Recipe;
    readonly responses: readonly WantedResponse[];
    readonly asked: number;
  },
): Recommended {
  const { state, constraints, draft } = predictor;
  const { factors, seed } = state.opened;
  if (!draft) {
    const says = 'The most desirable settings; how likely they conform cannot be judged.';
    return { ...winner, winner, shortfall: null, says };
  }
  const jointAt = (settings: Float64Array): JointPlace =>
    jointPlace(responses, settings, predictor);
  const from = settingsOf(winner.joint.coded, factors);
  const conforming = conformingPlace(predictor, { responses, asked, from });
  const boxKeeping = (share: number): LargestBox =>
    largestBox({
      factors,
      limits: linearLimits(factors, constraints),
      probability: (settings) => draft.at(settings).probability,
      asked,
      isWanted: (settings) => jointAt(settings).joint >= share * winner.joint.joint,
      starts: conforming ? [from, conforming] : [from],
      seed,
    });
  let box = boxKeeping(KEPT_DESIRABILITY[0]!);
  for (const share of KEPT_DESIRABILITY.slice(1)) {
    if (box.kind !== 'none wanted' || winner.window) break;
    box = boxKeeping(share);
  }
  if (box.kind === 'found') {
    const centre = roundedRecipe(predictor, box.centre, jointAt, asked);
    if (centre.window) {
      const says = `The centre of the widest window found, ${givenUpWords(centre, winner)}.${tightWords(centre)}`;
      return { ...centre, winner, shortfall: null, says };
    }
  }
  if (winner.window) {
    const says = 'The most desirable settings; they have a window of their own.';
    return { ...winner, winner, shortfall: null, says };
  }
  const top =
    box.kind === 'nowhere' || box.kind === 'none wanted'
      ? roundedRecipe(predictor, box.best, jointAt, asked)
      : winner;
  const likeliest = (top.probability ?? 0) > (winner.probability ?? 0) ? top : winner;
  if (likeliest.window && isKept(likeliest, winner)) {
    const says = `Hardly any setting conforms as asked; these do.${tightWords(likeliest)}`;
    return { ...likeliest, winner, shortfall: null, says };
  }
  const conforms = (likeliest.probability ?? 0) >= asked;
  const told = conforms ? winner : likeliest;
  return {
    ...winner,
    winner,
    shortfall: told.chance && shortfallOf(told.chance, asked, { isBest: !conforms }),
    says: conforms
      ? `The most desirable settings; those that conform as asked give too little of what else is wished: ${priceWords(likeliest, responses)}.`
      : 'The most desirable settings; no setting conforms as asked.',
  };
}

/** Desirable enough beside the winner to be worth recommending at all. */
const isKept = ({ joint }: Recipe, winner: Recipe): boolean =>
  joint.joint >= KEPT_DESIRABILITY.at(-1)! * winner.joint.joint;

/** A place that conforms but is of no use: its chance, and what it misses. */
function priceWords(
  { chance, joint, predictions }: Recipe,
  responses: readonly WantedResponse[],
): string {
  const missed = joint.each.filter(({ desirability: d }) => d < KEPT_DESIRABILITY.at(-1)!);
  const each = missed.flatMap(({ name }) => {
    const at = predictions.find((prediction) => prediction.name === name);
    const goal = responses.find((response) => response.name === name)?.goal;
    if (!at || !goal) return [name];
    return [`${name} ${at.mean.value.toPrecision(2)} where ${goal.target} is wished`];
  });
  return [`at ${shareWords(chance!.probability)}`, ...each].join(', ');
}

/** How much of what is wished the centre of a window gives up for its room. */
function givenUpWords(centre: Recipe, winner: Recipe): string {
  return centre.joint.joint >= KEPT_DESIRABILITY[0]! * winner.joint.joint
    ? 'nearly as desirable as the best settings'
    : 'less desirable than the best settings, which do not conform as asked';
}

/** Set points that cannot move one controller step, named. */
function tightWords({ setPointWindow }: Recipe): string {
  const tight = (setPointWindow ?? []).filter(({ hasMargin }) => !hasMargin);
  if (tight.length === 0) return '';
  return ` No step of room for ${tight.map(({ setPoint }) => setPoint).join(', ')}.`;
}

/** A place rounded to set points; of the roundings a step away, the likeliest that keeps the limits. */
function roundedRecipe(
  predictor: Predictor,
  settings: Float64Array,
  jointAt: (settings: Float64Array) => JointPlace,
  asked: number,
): Recipe {
  const { factors } = predictor.state.opened;
  const recipe = recipeAt(
    predictor,
    pointFromSettings(settings, factors),
    jointAt(settings),
    asked,
  );
  if (recipe.window || !predictor.draft) return recipe;
  const { draft, wander, constraints } = predictor;
  const from = settingsOf(recipe.coded, factors);
  const near = wander.axes
    .flatMap(({ shift }) => [1, -1].map((sign) => from.map((x, i) => x + sign * shift[i]!)))
    .filter((at) => brokenConstraints(pointFromSettings(at, factors), constraints).length === 0)
    .map((at) => ({ at, chance: draft.at(at).probability }))
    .sort((a, b) => b.chance - a.chance)[0];
  if (!near || near.chance <= (recipe.probability ?? 0)) return recipe;
  return recipeAt(predictor, pointFromSettings(near.at, factors), jointAt(near.at), asked);
}

function jointPlace(
  responses: readonly WantedResponse[],
  settings: Float64Array,
  { state }: Predictor,
): JointPlace {
  const each = responses.map(({ name, predict, goal }) => {
    const value = predict(settings);
    return { name, value, desirability: desirability(value, goal) };
  });
  const joint = jointDesirability(
    each.map((part, i) => ({ ...part, importance: responses[i]!.goal.importance })),
  );
  return { coded: pointFromSettings(settings, state.opened.factors), joint, each };
}

function noModelWords(state: StudyState): string {
  return fittedCells(state).length === 0
    ? 'No cell has been walked yet.'
    : 'No response with a goal could be fitted; see what each fit cannot say.';
}

/** What is known of one place: rounded to what the controller takes, predicted, judged. */
export function recipeAt(
  predictor: Predictor,
  coded: Point,
  joint: JointPlace,
  asked: number,
): Recipe {
  const { state, surfaces, judged, strand, draft } = predictor;
  const { factors, line } = state.opened;
  const setPoints = setPointsOf(naturalPoint(coded, factors), factors, line, studyDefaults(state));
  const natural = pointOf(setPoints, factors, line);
  const rounded = codedPoint(natural, factors);
  const settings = settingsOf(rounded, factors);
  const chance = chanceAt(predictor, settings);
  const window: RecipeWindow | null =
    draft && chance && chance.probability >= asked
      ? recipeWindow(
          predictor,
          { settings, setPoints },
          {
            asked,
            probability: (at) => draft.at(at).probability,
          },
        )
      : null;
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
    probability: chance?.probability ?? null,
    chance,
    asked,
    window: window?.factors ?? null,
    setPointWindow: window?.setPoints ?? null,
    worstInWindow: window?.worst ?? null,
    onEdge: factors.flatMap((factor) =>
      isNumeric(factor) && Math.abs(Number(rounded[factor.name])) > 0.98 ? [factor.name] : [],
    ),
  };
}
