import { fittedCells, type Recipe, type StudyState } from '@strandwise/core';
import { estimateWithInterval, fixed, significantFigures, withUnit } from '@strandwise/report';
import { failureWays } from './outcome.ts';
import type { PagedStudy } from './paged-study.ts';
import { counted, listed } from './sentence.ts';
import { factorDecimals, setPointWords } from './setting.ts';

/** The answer in two or three sentences, for those who read nothing else. */
export function answerOf(study: PagedStudy): string {
  const { state, recipe, found } = study;
  if (!recipe) return noRecipeAnswer(study);
  const setPoints = setPointWords(recipe.setPoints, state.opened.line);
  const { probability } = recipe;
  const start =
    found.kind !== 'found'
      ? `No setting was found that is acceptable in every response; the nearest miss has ${setPoints}.`
      : probability !== null && probability < study.asked
        ? `The best setting that these runs can name has ${setPoints}.`
        : `Run ${setPoints}.`;
  return [soFar(state), start, expectation(study, recipe), windowSentence(study, recipe)]
    .filter((text) => text !== '')
    .join(' ');
}

/** Said while cells are left. */
function soFar({ cells, queue }: StudyState): string {
  if (queue.length === 0) return '';
  return `This is after ${cells.length - queue.length} of ${counted(cells.length, 'cell')}.`;
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

/** Where one new set-up should fall, in the responses that the recipe rests on. */
function expectation({ responses }: PagedStudy, recipe: Recipe): string {
  const parts = responses
    .filter(({ decides }) => decides)
    .flatMap(({ name, unit }) => {
      const { next } = recipe.predictions.find((prediction) => prediction.name === name) ?? {};
      if (!next) return [];
      const { value, low, high } = next;
      const text =
        low === null || high === null
          ? withUnit(significantFigures(value, 2), unit)
          : estimateWithInterval({ estimate: value, low, high }, unit);
      return [`${name} ${text}`];
    });
  const expected = `A new set-up should give ${listed(parts)}`;
  return recipe.probability === null
    ? `${expected}; the runs cannot judge how likely it conforms.`
    : `${expected}, and conform with a chance of ${fixed(recipe.probability, 2)}.`;
}

function windowSentence({ state, asked }: PagedStudy, { window, probability }: Recipe): string {
  if (!window) {
    return probability === null || probability >= asked
      ? 'How far the settings may wander cannot be said.'
      : `That is below the ${asked} asked, so there is no window to promise yet.`;
  }
  const widths = window.map(({ factor, unit, together: [low, high] }) => {
    const found = state.opened.factors.find(({ name }) => name === factor);
    const decimals = found && 'low' in found ? factorDecimals(found) : 1;
    return `${factor} ${fixed(low, decimals)} to ${withUnit(fixed(high, decimals), unit)}`;
  });
  return `All at once the settings may wander within ${listed(widths)} and keep a chance of ${asked}.`;
}
