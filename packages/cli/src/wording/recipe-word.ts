// Sentences about a recipe that the terminal and the page share.

/** Some response is useless everywhere inside the ranges. */
export const nearestMissWords =
  'Not with these data: no setting is acceptable in every response. These are the nearest miss.';

export const cannotJudgeWords = 'The data cannot judge how likely a spool conforms.';

/** The window asked for is not there. */
export const belowAskedWords = (asked: number): string =>
  `Below the ${asked} asked: there is no window with these data. Confirm, replicate or move the ranges.`;

/** Factors whose best setting is the end of what was studied. */
export const edgeWords = (onEdge: readonly string[]): string =>
  `At the end of the studied range: ${onEdge.join(', ')}. Better settings may lie beyond it, untested.`;
