import {
  type ConfirmationBounds,
  type ConfirmationVerdict,
  confirmationBounds,
  confirmationVerdict,
  type Predictor,
  predictorOf,
  proposedRecipe,
  type Recipe,
  reducedModels,
  type StudyState,
  setPointsSame,
  studyFits,
} from '@strandwise/core';
import { UsageError } from '../command/usage-error.ts';

/** The proposed recipe of a study with what predicts and what confirms it. */
export interface StudyRecipe {
  readonly predictor: Predictor;
  readonly recipe: Recipe;
  /** Null when the data cannot judge any response at the recipe. */
  readonly bounds: ConfirmationBounds | null;
  readonly verdict: ConfirmationVerdict | null;
}

/** Reads a study's proposed recipe; refuses a study without one. */
export function studyRecipe(state: StudyState, asked: number): StudyRecipe {
  if (state.recipe === null)
    throw new UsageError(
      'no recipe has been proposed. Run "strandwise fit STUDY --propose" first.',
    );
  const predictor = predictorOf(state, studyFits(state, reducedModels(state)));
  const recipe = proposedRecipe(predictor, asked)!;
  const planned = plannedSetUps(state);
  const bounds = confirmationBounds(predictor, recipe, planned > 0 ? { setUps: planned } : {});
  return {
    predictor,
    recipe,
    bounds,
    verdict: bounds && confirmationVerdict(predictor, recipe.setPoints, bounds),
  };
}

/** Fresh set-ups at the proposed recipe that stand in the plan, done or not. */
export const plannedSetUps = (state: StudyState): number =>
  state.cells.filter(
    ({ purpose, run, status }) =>
      purpose === 'confirm' &&
      status !== 'left out' &&
      run.setPoints !== null &&
      state.recipe !== null &&
      setPointsSame(run.setPoints, state.recipe.setPoints),
  ).length;
