import {
  barrelMaterial,
  type CautionMoment,
  cautions,
  gradeMaterial,
  type StudyState,
  shutdownAdvice,
} from '@strandwise/core';

/** What to look out for at a moment of the walk, in short sentences. */
export const cautionsFor = ({ opened }: StudyState, moment: CautionMoment): string[] =>
  cautions(moment, opened.grade).map(({ says }) => says);

/** How to stop safely with what is in the barrel, as far as the study knows, and what stays in it. */
export function safeStop({ opened, barrelHolds }: Pick<StudyState, 'opened' | 'barrelHolds'>): {
  readonly steps: readonly string[];
  readonly leaves: string;
} {
  const { grade, line } = opened;
  const held = barrelHolds === null ? gradeMaterial(grade) : barrelMaterial(barrelHolds, [grade]);
  return held === null ? { steps: emptyBarrel, leaves: 'clean' } : shutdownAdvice(held, line);
}

const emptyBarrel: readonly string[] = [
  'The barrel is said to be empty: turn the heaters off, feed zone last, and stop the screw.',
  'Leave the nozzle clear and the guards on; do not stand in line with it while it cools.',
  'Write down that the barrel is empty.',
];
