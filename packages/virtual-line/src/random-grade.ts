import type { Uniform } from '@strandwise/core';
import { demoScenario } from './demo-scenario.ts';
import { normalSource } from './noise.ts';
import { trueOptimum } from './true-optimum.ts';
import { px31, type VirtualGrade } from './virtual-grade.ts';

/** How far grades differ: SDs in °C for temperatures, on the natural-log scale for the rest. */
const spread = { celsius: 4, firm: 4, ln: 0.15, energy: 0.08 };
/** An optimum nearer than this to an edge of the ranges, in coded units, is drawn again. */
const edge = 0.95;

/**
 * A plausible invented grade near PX-31, for calibration studies: constants drawn at random, kept
 * when the true optimum meets every limit strictly inside the demonstration's ranges.
 *
 * @param uniform - source of chance; the same source gives the same grades in the same order
 */
export function randomGrade(uniform: Uniform): VirtualGrade {
  for (let draw = 0; draw < 500; draw++) {
    const grade = perturbed(px31, uniform);
    const optimum = trueOptimum({ ...demoScenario, grade });
    const isInside = Object.values(optimum.coded).every((value) => Math.abs(Number(value)) < edge);
    if (optimum.meetsLimits && isInside) return grade;
  }
  throw new Error('randomGrade: 500 draws gave no grade with its optimum inside the ranges.');
}

function perturbed(base: VirtualGrade, uniform: Uniform): VirtualGrade {
  const normal = normalSource(uniform);
  // Cut at two SDs: a grade should differ, not be another material.
  const draw = (sd: number): number => sd * Math.max(-2, Math.min(2, normal()));
  const times = (value: number, sd = spread.ln): number => value * Math.exp(draw(sd));
  const shift = draw(spread.celsius);
  return {
    ...base,
    name: `RX-${Math.floor(uniform() * 9000 + 1000)}`,
    remark: 'Invented grade drawn at random near PX-31.',
    feedBestCelsius: base.feedBestCelsius + shift + draw(spread.celsius / 2),
    feedWidthCelsius: times(base.feedWidthCelsius),
    softeningCelsius: base.softeningCelsius + shift,
    viscosityPas: times(base.viscosityPas),
    flowEnergy: times(base.flowEnergy, spread.energy),
    speedThinning: times(base.speedThinning),
    meltingMargin: times(base.meltingMargin, spread.energy / 2),
    degradationRate: times(base.degradationRate),
    degradationEnergy: times(base.degradationEnergy, spread.energy),
    surge: times(base.surge),
    slowNoise: times(base.slowNoise),
    meltNoise: times(base.meltNoise),
    ovalityMm: times(base.ovalityMm),
    softOvalityMm: times(base.softOvalityMm),
    flutterOvalityMm: times(base.flutterOvalityMm),
    firmCelsius: base.firmCelsius + draw(spread.firm),
    toleratedMoisturePpm: times(base.toleratedMoisturePpm),
    moistureBubbles: times(base.moistureBubbles),
    airBubbles: times(base.airBubbles),
    degradationBubbles: times(base.degradationBubbles),
  };
}
