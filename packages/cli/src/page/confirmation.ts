import {
  type ConfirmationBounds,
  confirmationBounds,
  confirmationVerdict,
  type Recipe,
} from '@strandwise/core';
import type { PagedStudy } from './paged-study.ts';

/** Where fresh set-ups of the recipe must fall; null when nothing can judge them. */
export const boundsOf = ({ predictor }: PagedStudy, recipe: Recipe): ConfirmationBounds | null =>
  confirmationBounds(predictor, recipe);

/** What fresh set-ups at the recipe showed, or that none has been run. */
export function confirmationWords(study: PagedStudy, recipe: Recipe): string {
  const notYet = 'Not yet confirmed: no fresh set-up has been run at these set points.';
  const bounds = boundsOf(study, recipe);
  if (!bounds) return notYet;
  const verdict = confirmationVerdict(study.predictor, recipe.setPoints, bounds);
  if (verdict.kind !== 'not yet') return verdict.says;
  return verdict.done === 0 ? notYet : `Not yet confirmed: ${verdict.says}`;
}
