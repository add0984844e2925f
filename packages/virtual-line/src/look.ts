import type { StrandLook } from '@strandwise/core';
import type { VirtualGrade } from './virtual-grade.ts';
import type { VirtualReading } from './virtual-line.ts';

/** More unmelted grains a metre than this make a strand rough; an invented operator's eye. */
const roughGrainsPerMetre = 5;
/** A melt this much stiffer than one that runs away still sags; an invented operator's eye. */
const saggingRatio = 1.35;

/**
 * What an operator sees of a virtual strand after a minute or two: failures as the line shows them,
 * grains by counting, sagging by eye.
 *
 * @param readings - the seconds looked at
 * @param viscosityPas - of the melt at the die
 * @param misjudged - factor by which the eye is off, 1 for a perfect eye
 */
export function lookOf(
  readings: readonly VirtualReading[],
  viscosityPas: number,
  grade: Pick<VirtualGrade, 'tooFluidPas'>,
  misjudged = 1,
): StrandLook {
  const failure = readings.find((reading) => reading.failure !== null)?.failure;
  if (failure === 'cold') return 'unmelted';
  if (failure === 'hot') return 'runs';
  if (failure === 'feed') return 'no feed';
  let metres = 0;
  let grains = 0;
  for (const reading of readings) {
    metres += reading.metres;
    grains += reading.unmelted;
  }
  if (metres > 0 && grains / metres > roughGrainsPerMetre * misjudged) return 'stiff';
  return viscosityPas * misjudged < saggingRatio * grade.tooFluidPas ? 'soft' : 'holds shape';
}
