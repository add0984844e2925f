import {
  type CautionMoment,
  cautions,
  gradeMaterial,
  type StudyState,
  shutdownAdvice,
} from '@strandwise/core';

/** What to look out for at a moment of the walk, in short sentences. */
export const cautionsFor = ({ opened }: StudyState, moment: CautionMoment): string[] =>
  cautions(moment, opened.grade).map(({ says }) => says);

/** How to stop safely with what is in the barrel: this grade, once it has been run. */
export function shutdownSteps({ opened, checks, cells }: StudyState): readonly string[] {
  const hasRun = cells.some(({ enteredAt }) => enteredAt !== null);
  const resident = hasRun || checks === null ? gradeMaterial(opened.grade) : checks.barrelHolds;
  return shutdownAdvice(resident, opened.line).steps;
}
