import {
  type Grade,
  makesStrand,
  middleSettings,
  rangeCorners,
  type ScoutAdvice,
  type ScoutOf,
  type ScoutStep,
  scoutSetPoints,
  seededUniform,
  zoneTemperatures,
} from '@strandwise/core';
import {
  demoScenario,
  normalSource,
  randomGrade,
  steadyState,
  type VirtualGrade,
  VirtualLine,
} from '@strandwise/virtual-line';
import { rehearsedScout } from '../../packages/cli/src/rehearsal/rehearsed-scout.ts';
import { lineClock } from '../../packages/cli/src/rehearsal/rehearsed-walk.ts';

/** Chance of failing from which a corner counts as not feasible. */
export const mostCornerFailure = 0.1;
/** SD of the operator's eye on the natural-log scale. */
const eyeLnSd = 0.1;

/** What a data sheet would say of a random grade: its temperatures moved with its softening. */
export function sheetOf(virtual: VirtualGrade): Grade {
  const { grade } = demoScenario;
  const shift = Math.round(virtual.softeningCelsius - demoScenario.virtualGrade.softeningCelsius);
  return {
    ...grade,
    name: `${virtual.name} (invented)`,
    meltingCelsius: grade.meltingCelsius! + shift,
    floorCelsius: grade.floorCelsius + shift,
    ceilingCelsius: grade.ceilingCelsius + shift,
  };
}

export interface ScoutingTrial {
  readonly seed: number;
  readonly virtual: VirtualGrade;
  readonly grade: Grade;
  readonly scout: Omit<ScoutOf, 'steps'>;
  readonly advice: ScoutAdvice;
  readonly steps: readonly ScoutStep[];
  readonly hours: number;
  readonly grams: number;
  readonly failures: number;
  /** Levels, at the scouting profile, at which a strand truly forms more often than not. */
  readonly trueWindow: readonly [number, number] | null;
  /** Largest true chance of failing over the corners of the proposed ranges; null without any. */
  readonly worstCorner: number | null;
  /** Mean chance of failing over those corners: the share of corner cells lost to failures. */
  readonly meanCorner: number | null;
  readonly worstKind: string;
}

/** Scouts one seeded random grade on the virtual line. */
export function scoutingTrial(seed: number): ScoutingTrial {
  const virtual = randomGrade(seededUniform(seed, 'grade'));
  const grade = sheetOf(virtual);
  const { line, product } = demoScenario;
  const scout = { line, grade, product, fixed: middleSettings(grade, line) };
  const clock = lineClock(0);
  const normal = normalSource(seededUniform(seed, 'eye'));
  const start = scoutSetPoints({ level: grade.floorCelsius + 25, tilt: 20, hump: 10 }, { line });
  const virtualLine = new VirtualLine({
    line,
    grade: virtual,
    product,
    seed,
    setPoints: start,
    moisturePpm: demoScenario.driedPpm,
  });
  const { advice, steps, grams } = rehearsedScout(scout, {
    line: virtualLine,
    grade: virtual,
    clock,
    misjudged: () => Math.exp(eyeLnSd * normal()),
  });
  return {
    seed,
    virtual,
    grade,
    scout,
    advice,
    steps,
    hours: clock.now() / 3_600_000,
    grams,
    failures: steps.filter(({ seen }) => !makesStrand(seen)).length,
    trueWindow: trueWindow(virtual, scout),
    ...(advice.kind === 'done'
      ? cornerChances(advice, virtual, scout)
      : { worstCorner: null, meanCorner: null, worstKind: '' }),
  };
}

function cornerChances(
  { proposal }: Extract<ScoutAdvice, { kind: 'done' }>,
  grade: VirtualGrade,
  { line, product }: Omit<ScoutOf, 'steps'>,
): Pick<ScoutingTrial, 'worstCorner' | 'meanCorner' | 'worstKind'> {
  const states = rangeCorners(proposal.ranges).map((corner) =>
    steadyState({ settings: scoutSetPoints(corner, { line }), line, grade, product }),
  );
  const worst = states.reduce((a, b) => (b.failureChance > a.failureChance ? b : a));
  const kinds = Object.entries(worst.failure).sort(([, a], [, b]) => b - a);
  return {
    worstCorner: worst.failureChance,
    meanCorner: states.reduce((sum, { failureChance }) => sum + failureChance, 0) / states.length,
    worstKind: kinds[0]![0],
  };
}

function trueWindow(
  grade: VirtualGrade,
  { line, product, fixed }: Omit<ScoutOf, 'steps'>,
): readonly [number, number] | null {
  const forms: number[] = [];
  for (let level = 120; level <= 280; level++) {
    const zonesCelsius = zoneTemperatures(
      { level, tilt: fixed['tilt']!, hump: fixed['hump']! },
      line,
    );
    const settings = { zonesCelsius, screwRpm: fixed['screw']!, fanPercent: fixed['fan']! };
    if (steadyState({ settings, line, grade, product }).failureChance < 0.5) forms.push(level);
  }
  return forms.length === 0 ? null : [forms[0]!, forms.at(-1)!];
}

export interface ScoutingSummary {
  readonly grades: number;
  readonly bracketed: number;
  readonly bracketTrue: number;
  readonly steps: { readonly mean: number; readonly most: number };
  readonly failures: { readonly mean: number; readonly most: number };
  readonly hours: number;
  readonly grams: number;
  readonly allCornersFeasible: number;
  readonly cornersLikelier: number;
  /** Share of corner cells that truly fail, over all grades that got ranges. */
  readonly cornerCellsLost: number;
  /** What the model of the steps expected of that share. */
  readonly cornerCellsExpectedLost: number;
  readonly meanLevelWidth: number;
}

export function scoutingSummary(trials: readonly ScoutingTrial[]): ScoutingSummary {
  const mean = (of: (trial: ScoutingTrial) => number): number =>
    trials.reduce((sum, trial) => sum + of(trial), 0) / trials.length;
  const share = (is: (trial: ScoutingTrial) => boolean): number => mean((one) => (is(one) ? 1 : 0));
  const width = ({ advice }: ScoutingTrial): number =>
    advice.kind === 'done'
      ? advice.proposal.ranges.level.high - advice.proposal.ranges.level.low
      : 0;
  return {
    grades: trials.length,
    bracketed: share(({ advice }) => advice.kind === 'done'),
    bracketTrue: share(({ advice, trueWindow: window }) => {
      if (advice.kind !== 'done' || !window) return false;
      const { goodLow, goodHigh } = advice.proposal.bracket;
      return goodLow! >= window[0] && goodHigh! <= window[1];
    }),
    steps: {
      mean: mean(({ steps }) => steps.length),
      most: Math.max(...trials.map(({ steps }) => steps.length)),
    },
    failures: {
      mean: mean(({ failures }) => failures),
      most: Math.max(...trials.map(({ failures }) => failures)),
    },
    hours: mean(({ hours }) => hours),
    grams: mean(({ grams }) => grams),
    allCornersFeasible: share(
      ({ worstCorner: worst }) => worst !== null && worst <= mostCornerFailure,
    ),
    cornersLikelier: share(({ worstCorner: worst }) => worst !== null && worst < 0.5),
    cornerCellsLost: mean(({ meanCorner }) => meanCorner ?? 1),
    cornerCellsExpectedLost: mean(({ advice }) =>
      advice.kind === 'done' ? 1 - advice.proposal.sureness.meanChance : 1,
    ),
    meanLevelWidth: mean(width),
  };
}
