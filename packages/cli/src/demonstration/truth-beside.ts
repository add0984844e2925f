import {
  chanceAt,
  type Point,
  planLimits,
  type Recipe,
  type StudyState,
  settingsOf,
  studyDefaults,
  usualProbability,
} from '@strandwise/core';
import {
  demoScenario,
  type SteadyState,
  type TrueOptimum,
  trueOptimum,
  truth,
} from '@strandwise/virtual-line';
import type { DemonstratedJob } from './demonstrated-job.ts';

/** What the virtual line truly does, beside what was recommended. */
export interface TruthBeside {
  readonly optimum: TrueOptimum;
  /** At the recommended set points; null when none were found. */
  readonly there: SteadyState | null;
  /** SD there over the optimum's, less 1. */
  readonly loss: number | null;
  /** Chance of conforming that the fitted model gives the optimum. */
  readonly optimumChance: number | null;
  /** The optimum conforms with the chance asked, as the fitted model sees it. */
  readonly isInRegion: boolean;
  /** Every setting of the optimum lies where its factor alone may wander. */
  readonly isInRanges: boolean;
}

export function truthBeside(state: StudyState, { predictor, found }: DemonstratedJob): TruthBeside {
  const { line, grade, product, factors } = state.opened;
  const defaults = studyDefaults(state);
  const asked = {
    factors: demoScenario.factors,
    line,
    product,
    grade: demoScenario.virtualGrade,
    defaults,
  };
  const constraints = planLimits(factors, { line, grade, product, defaults });
  const optimum = trueOptimum({ ...asked, constraints });
  const place: Recipe | null =
    found.kind === 'found' || found.kind === 'nowhere acceptable' ? found : null;
  const there = place && truth(asked)(place.natural);
  const chance = chanceAt(predictor, settingsOf(optimum.coded, factors));
  return {
    optimum,
    there,
    loss: there && there.sdMm / optimum.state.sdMm - 1,
    optimumChance: chance?.probability ?? null,
    isInRegion: (chance?.probability ?? 0) >= (place?.asked ?? usualProbability),
    isInRanges: place !== null && liesInRanges(place, optimum.natural),
  };
}

const liesInRanges = ({ window }: Recipe, natural: Point): boolean =>
  window?.every(
    ({ factor, alone: [low, high] }) =>
      Number(natural[factor]) >= low && Number(natural[factor]) <= high,
  ) ?? false;

/** The truth in a few lines. */
export function truthText({
  optimum,
  there,
  loss,
  optimumChance,
  isInRegion,
}: TruthBeside): string {
  const { setPoints, state } = optimum;
  const lines = [
    `zones ${setPoints.zonesCelsius.join(' · ')} °C    screw ${setPoints.screwRpm} rpm    fan ${setPoints.fanPercent} %`,
    `  truly ${stateWords(state)}`,
  ];
  if (optimumChance !== null) {
    const where = isInRegion ? 'inside' : 'outside';
    lines.push(
      `  The fit gives it a chance of ${optimumChance.toFixed(2)}: ${where} the region recommended.`,
    );
  }
  if (there && loss !== null) {
    lines.push('At the recommended set points the line', `  truly ${stateWords(there)}`);
    lines.push(
      `  SD ${Math.abs(100 * loss).toFixed(0)} % ${loss >= 0 ? 'above' : 'below'} the optimum’s.`,
    );
  }
  return lines.join('\n');
}

const stateWords = ({ sdMm, bubblesPerMetre, outputKgPerHour }: SteadyState): string =>
  `SD ${sdMm.toFixed(4)} mm, ${bubblesPerMetre.toFixed(2)} bubbles per metre, ${outputKgPerHour.toFixed(3)} kg/h`;
