import { fittedCells, type Recommended, type StudyState, shareWords } from '@strandwise/core';
import { failureWays } from './outcome.ts';
import type { PagedStudy } from './paged-study.ts';
import { counted } from './sentence.ts';
import { setPointWords } from './setting.ts';

/** The answer in a sentence, for those who read nothing else. */
export function answerOf(study: PagedStudy): string {
  const { state, recipe } = study;
  if (!recipe) return noRecipeAnswer(study);
  return `${soFar(state)}${settingsSentence(study, recipe)}`;
}

function settingsSentence({ state, found, asked }: PagedStudy, recipe: Recommended): string {
  const setPoints = setPointWords(recipe.setPoints, state.opened.line);
  const { probability, chance } = recipe;
  const sure = chance
    ? chance.notBelow >= 0.995
      ? ''
      : ` (not below ${shareWords(chance.notBelow)})`
    : '';
  const conforms =
    probability === null
      ? 'the runs cannot judge how likely a new set-up conforms'
      : `a new set-up then conforms with a chance of ${shareWords(probability)}${sure}`;
  if (found.kind !== 'found')
    return `Not with these data: no setting is acceptable in every response. The nearest miss has ${setPoints}; ${conforms}.`;
  if (probability !== null && probability < asked)
    return `There is no window yet: the best setting that these runs can name has ${setPoints}, and ${conforms}, below the ${asked} asked.`;
  return `Run ${setPoints}: ${conforms}.`;
}

/** Said while cells are left. */
function soFar({ cells, queue }: StudyState): string {
  if (queue.length === 0) return '';
  return `After ${cells.length - queue.length} of ${counted(cells.length, 'cell')}: `;
}

function noRecipeAnswer({ state, found }: PagedStudy): string {
  if (state.plan === null)
    return 'Nothing has been run yet and no plan is adopted, so no settings can be recommended. What follows says what is known of the job.';
  const cells = fittedCells(state);
  const left = counted(state.queue.length, 'cell');
  if (cells.length === 0)
    return `The plan stands, ${left} to walk, but none has been walked yet, so no settings can be recommended. What follows says what the plan will be able to tell.`;
  const failed = cells.filter(({ status }) => status === 'failed').length;
  if (failed === cells.length)
    return `All ${counted(failed, 'cell')} that were walked failed, so no settings can be recommended: ${failureWays(state.cells)}.`;
  return `${counted(cells.length - failed, 'cell')} ${cells.length - failed === 1 ? 'was' : 'were'} measured${failed > 0 ? ` and ${failed} failed` : ''}, too little to recommend settings. ${found.kind === 'no model' || found.kind === 'nothing feasible' ? found.says : 'No response tells one setting from another.'}`;
}
