import { codedPoint } from '../factor/coding.ts';
import type { ConfirmationVerdict } from '../recipe/confirmation-verdict.ts';
import type { Predictor } from '../recipe/predictor.ts';
import { type Recipe, recipeAt } from '../recipe/recommendation.ts';
import { productRequirements } from '../recipe/requirement.ts';
import { settingChanges } from '../study/briefing.ts';
import { fittedCells } from '../study/run-table.ts';
import type { StudyState } from '../study/state.ts';
import { cautions } from '../trade/cautions.ts';
import { changeover, gradeMaterial } from '../trade/changeover.ts';
import { dryingAdvice } from '../trade/drying.ts';
import { pointOf } from '../trade/limits.ts';
import { isRecycled } from '../trade/permission.ts';
import type { RecipeCard } from './recipe-card.ts';
import { warmUpSteps } from './warm-up.ts';

/** The proposed recipe with all that is known of it; null when none is proposed. */
export function proposedRecipe(predictor: Predictor, asked: number): Recipe | null {
  const { state } = predictor;
  if (state.recipe === null) return null;
  const { factors, line } = state.opened;
  const coded = codedPoint(pointOf(state.recipe.setPoints, factors, line), factors);
  return recipeAt(predictor, coded, { coded, joint: 0, each: [] }, asked);
}

/** What speaks against releasing a recipe; empty when nothing does. */
export function releaseObjections(
  recipe: Recipe,
  verdict: ConfirmationVerdict,
  state: StudyState,
): string[] {
  const { probability, asked } = recipe;
  return [
    ...confirmationObjections(verdict, state),
    ...(probability === null
      ? ['The data cannot judge how likely a spool conforms.']
      : probability < asked
        ? [
            `The chance that a new set-up conforms is ${below(probability, asked)}; asked is ${asked}.`,
          ]
        : []),
    ...(recipe.window === null && probability !== null && probability >= asked
      ? ['No set point has any room round this recipe.']
      : []),
    ...(state.opened.grade.drying === undefined &&
    dryingAdvice(state.opened.grade).kind === 'unknown'
      ? ['No drying is on record for this grade.']
      : []),
  ];
}

/** A chance in as many digits as show that it is below what is asked. */
function below(probability: number, asked: number): string {
  const short = probability.toFixed(2);
  return Number(short) < asked ? short : (Math.floor(1000 * probability) / 1000).toFixed(3);
}

/** A miss on the good side, or of what a spool need not keep, is told on the card but holds nothing up. */
function confirmationObjections(verdict: ConfirmationVerdict, state: StudyState): string[] {
  if (verdict.kind === 'holds') return [];
  if (verdict.kind === 'not yet' || verdict.failed.length > 0)
    return [`Not confirmed. ${verdict.says}`];
  const required = new Set(
    productRequirements(state.opened.product).map(({ response }) => response),
  );
  return verdict.misses
    .filter(({ response, side }) => required.has(response) && side !== 'better')
    .map(({ says, whatToDo }) => `Not confirmed. ${says} ${whatToDo}`);
}

export interface ReleaseOf {
  readonly predictor: Predictor;
  readonly recipe: Recipe;
  readonly verdict: ConfirmationVerdict;
  readonly signedBy: string;
  readonly at: string;
  readonly despite?: string;
}

/** The card of a proposed recipe, numbered after the last one released. */
export function recipeCard({
  predictor,
  recipe,
  verdict,
  signedBy,
  at,
  despite,
}: ReleaseOf): RecipeCard {
  const { state } = predictor;
  const { opened, released, exceptions, lastSeq } = state;
  const { grade, line, product } = opened;
  const drying = dryingAdvice(grade, { isRecycled: isRecycled(grade) });
  return {
    format: 'strandwise recipe card',
    version: 1,
    recipeVersion: (released?.version ?? 0) + 1,
    study: opened.name,
    invented: opened.invented,
    grade: { name: grade.name, family: grade.family, lot: grade.lot ?? null },
    line: line.name,
    product,
    setPoints: recipe.setPoints,
    settings: settingsOf(recipe, state),
    drying: [drying.says, ...(drying.kind === 'dry' ? drying.cautions : [])],
    changeover: changeoverSteps(state),
    warmUp: warmUpSteps(recipe.setPoints, opened),
    expected: expectedOf(recipe, state),
    chance: recipe.chance
      ? {
          probability: recipe.chance.probability,
          notBelow: recipe.chance.notBelow,
          asked: recipe.asked,
          says: recipe.chance.says,
        }
      : null,
    evidence: evidenceOf(predictor, verdict),
    exceptions: exceptions.map(({ material, by, reason }) => ({ material, by, reason })),
    cautions: [...cautions('heat-up', grade), ...cautions('walking', grade)]
      .map(({ says }) => says)
      .filter((says, i, all) => all.indexOf(says) === i),
    despite: despite ?? null,
    signedBy,
    at,
  };

  function evidenceOf(
    { surfaces }: Predictor,
    judged: ConfirmationVerdict,
  ): RecipeCard['evidence'] {
    const cells = fittedCells(state);
    return {
      plan: state.plan?.family ?? 'none',
      cells: cells.length,
      failed: cells.filter(({ status }) => status === 'failed').length,
      zoneSettings: new Set(cells.map(({ run }) => run.wholePlot ?? run.runOrder)).size,
      seed: state.plan?.seed ?? null,
      scoutSteps: state.scouting.length,
      models: surfaces.map(({ name, terms }) => `${name}: ${terms.length} terms`),
      confirmation: judged.says,
      confirmed: confirmationObjections(judged, state).length === 0,
      upToEntry: lastSeq,
    };
  }
}

function settingsOf(
  { setPoints, setPointWindow }: Recipe,
  { opened }: StudyState,
): RecipeCard['settings'] {
  const named = [
    ...opened.line.zones.map(({ name }) => name),
    'screw',
    'fan',
    ...Object.keys(setPoints.other),
  ];
  return settingChanges(opened.line, setPoints, null).map(({ name, unit, now }, i) => {
    const found = setPointWindow?.find(({ setPoint }) => setPoint === named[i]);
    const pair = (ends: readonly [number, number] | undefined) =>
      ends ? { low: ends[0], high: ends[1] } : null;
    return { name, unit, value: now, allowed: pair(found?.together), alone: pair(found?.alone) };
  });
}

/** From the seal resin that a well-kept barrel holds; any other way is asked of `ready`. */
function changeoverSteps({ opened }: StudyState): string[] {
  const path = changeover({ from: 'HDPE', to: gradeMaterial(opened.grade), line: opened.line });
  if (path.kind === 'refused') return [`From HDPE: ${path.says}`];
  return [
    'From a barrel sealed with HDPE; from anything else ask "strandwise ready".',
    ...path.steps.map(({ says }) => says),
  ];
}

function expectedOf({ predictions }: Recipe, { opened }: StudyState): RecipeCard['expected'] {
  return predictions.map(({ name, mean, next }) => {
    const response = opened.responses.find((each) => each.name === name);
    return {
      response: name,
      unit: response?.kind === 'count' ? 'per m' : (response?.unit ?? ''),
      value: mean.value,
      mean: { low: mean.low, high: mean.high },
      next: { low: next.low, high: next.high },
    };
  });
}
