import { fittedCells, type Recipe, type StudyState } from '@strandwise/core';
import { estimateWithInterval, fixed, significantFigures, withUnit } from '@strandwise/report';
import type { PagedStudy } from './paged-study.ts';
import { counted, listed } from './sentence.ts';
import { factorDecimals, setPointWords } from './setting.ts';

/** The answer in two or three sentences, for those who read nothing else. */
export function answerOf(study: PagedStudy): string {
  const { state, recipe, found } = study;
  if (!recipe) return noRecipeAnswer(study);
  const start =
    found.kind === 'found'
      ? `Run ${setPointWords(recipe.setPoints, state.opened.line)}.`
      : `No setting was found that is acceptable in every response; the nearest miss has ${setPointWords(recipe.setPoints, state.opened.line)}.`;
  return [start, expectation(study, recipe), windowSentence(study, recipe)].join(' ');
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
    return `All ${counted(failed, 'cell')} that were walked failed, so no settings can be recommended. ${failedWays(state)}`;
  return `${counted(cells.length - failed, 'cell')} ${cells.length - failed === 1 ? 'was' : 'were'} measured${failed > 0 ? ` and ${failed} failed` : ''}, too little to recommend settings. ${'says' in found ? found.says : ''}`.trim();
}

/** "2 were too cold, 1 did not feed". */
export function failedWays({ cells }: StudyState): string {
  const ways = new Map<string, number>();
  for (const { failures, status } of cells) {
    const direction = failures.at(-1)?.direction;
    if (status === 'failed' && direction !== undefined)
      ways.set(direction, (ways.get(direction) ?? 0) + 1);
  }
  const told = [...ways].map(([way, count]) => `${count} ${way}`);
  return told.length === 0 ? '' : `They failed: ${told.join(', ')}.`;
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
