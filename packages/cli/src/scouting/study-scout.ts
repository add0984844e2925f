import type {
  HappeningOf,
  Journal,
  ScoutAdvice,
  ScoutOf,
  ScoutProposal,
  StudyState,
} from '@strandwise/core';

/** What scouting knows of a study. */
export const scoutOf = ({ opened, scouting }: StudyState): ScoutOf => ({
  line: opened.line,
  grade: opened.grade,
  product: opened.product,
  fixed: opened.fixed,
  steps: scouting,
});

/** The study's factors with those replaced that scouting settles; others are kept. */
function withRanges(
  { opened }: StudyState,
  proposal: ScoutProposal,
): HappeningOf<'ranges changed'>['factors'] {
  const settled = new Set<string>(proposal.factors.map(({ acts }) => acts as string));
  const others = opened.factors.filter(
    (factor) => !('acts' in factor) || factor.acts === undefined || !settled.has(factor.acts),
  );
  return [...proposal.factors, ...others];
}

/** Records the proposal as the ranges of the study. */
export function adoptRanges(journal: Journal, proposal: ScoutProposal): void {
  const factors = withRanges(journal.state(), proposal);
  journal.record({ kind: 'ranges changed', factors, says: proposal.says });
}

/** True when the ranges of the study are those that its scouting proposes. */
export const isAdopted = (state: StudyState, advice: ScoutAdvice): boolean =>
  advice.kind === 'done' &&
  JSON.stringify(withRanges(state, advice.proposal)) === JSON.stringify(state.opened.factors);
