import type { Design } from '../design/design.ts';
import { dfBudget } from '../design/properties/degrees-of-freedom.ts';
import { designInformation } from '../design/properties/design-information.ts';
import { type Model, modelTerms, type Powers, termKey, termOrder } from '../term/term.ts';

/**
 * The largest part of a model that a design can estimate with error df to spare: the model itself,
 * else without its squares, else without its interactions, else its main effects, else the mean.
 *
 * Judged on the settings as designed: rounding them can make a term that the design does not
 * separate look as if it hung by a thread.
 */
export function assessedModel(design: Design, model: Model): Model {
  for (const candidate of smallerModels(model, design)) {
    if (isJudgeable(design, candidate)) return candidate;
  }
  return { terms: [{}] };
}

function smallerModels(model: Model, { factors }: Design): Model[] {
  const terms = modelTerms(model, factors);
  const kept = (isKept: (powers: Powers) => boolean): Model => ({ terms: terms.filter(isKept) });
  const isMain = (powers: Powers): boolean => termOrder(powers) <= 1;
  const isSquare = (powers: Powers): boolean =>
    termOrder(powers) > 1 && Object.keys(powers).length === 1;
  const isPlain = typeof model === 'string';
  return [
    model,
    isPlain && model === 'quadratic' ? 'interactions' : kept((powers) => !isSquare(powers)),
    kept((powers) => isMain(powers) || isSquare(powers)),
    isPlain ? 'main' : kept(isMain),
  ];
}

function isJudgeable({ factors, runs }: Design, model: Model): boolean {
  const terms = modelTerms(model, factors);
  if (runs.length <= terms.length) return false;
  const information = designInformation({ factors, terms, runs });
  if (information.aliased) return false;
  return dfBudget(information).strata.at(-1)!.error > 0;
}

/** Terms of the asked model that the assessed one leaves out. */
export function droppedTerms(model: Model, assessed: Model, { factors }: Design): Powers[] {
  const kept = new Set(modelTerms(assessed, factors).map(termKey));
  return modelTerms(model, factors).filter((powers) => !kept.has(termKey(powers)));
}
