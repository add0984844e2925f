// How often tests, intervals and chances hold: true studies are drawn, fitted, and judged.
import {
  assurance,
  bestInRegion,
  combinationEstimate,
  conformanceModel,
  fullQuadratic,
  gradientStatistic,
  linearLimits,
  normalLower,
  type ResponseSurface,
  seededUniform,
  standardNormal,
} from '@strandwise/core';
import { type Judged, judgements, WAYS, type Way } from './calibration-fit.ts';
import { BOTTOM, CELL_SD, PLACES, type TrialPlan, truth } from './calibration-plan.ts';

/** True chance at the bottom of the bowl; the limit is put there. */
export const TRUE_CHANCE = 0.9;
const SCORE = 1.2815515655446004;

/** What is counted or averaged over studies, with a plain name. */
export const MEASURES = {
  wholePlotSize: 'size of 5 % tests, terms set once a plot',
  subPlotSize: 'size of 5 % tests, terms set each cell',
  mean: 'mean 95 %',
  setUp: 'new set-up 95 %',
  stationary: 'stationary point 95 %',
  chance: 'chance told, true 0.90',
  chanceHeld: 'chance 95 %',
  promised: 'promise kept 95 %',
  ownChance: 'chance told at own best',
  ownTrue: 'true there',
  ownPromised: 'promise kept there',
} as const;
export type Measure = keyof typeof MEASURES;

/** Averages over the studies that a way did not refuse. */
export interface Shares {
  readonly answered: number;
  readonly shares: Readonly<Record<Measure, number>> | null;
}

interface Tally {
  answered: number;
  readonly sums: Record<Measure, number>;
}

interface Study {
  readonly y: Float64Array;
  /** One fresh set-up at each of the places. */
  readonly next: readonly number[];
  readonly totalSd: number;
}

/** Draws `replicates` studies of a plan and says how often each way of judging them holds. */
export function trialShares(
  plan: TrialPlan,
  { ratio, replicates, seed }: { ratio: number; replicates: number; seed: number },
): Map<Way, Shares> {
  const uniform = seededUniform(seed, `${plan.name} ${ratio}`);
  const tallies = new Map(
    WAYS.map((way): [Way, Tally] => [way, { answered: 0, sums: zeroSums() }]),
  );
  for (let replicate = 0; replicate < replicates; replicate++) {
    const study = drawnStudy(plan, ratio, uniform);
    for (const [way, judged] of judgements(plan, study.y)) {
      if (!judged) continue;
      const tally = tallies.get(way)!;
      tally.answered++;
      const held = heldIn(plan, judged, study);
      for (const measure of measures) tally.sums[measure] += held[measure];
    }
  }
  return new Map(
    [...tallies].map(([way, { answered, sums }]) => {
      const shares = zeroSums();
      for (const measure of measures) shares[measure] = sums[measure] / answered;
      return [way, { answered: answered / replicates, shares: answered > 0 ? shares : null }];
    }),
  );
}

const measures = Object.keys(MEASURES) as Measure[];
const zeroSums = (): Record<Measure, number> =>
  Object.fromEntries(measures.map((measure) => [measure, 0])) as Record<Measure, number>;

function drawnStudy(plan: TrialPlan, ratio: number, uniform: () => number): Study {
  const plotSd = CELL_SD * Math.sqrt(ratio);
  const totalSd = CELL_SD * Math.sqrt(1 + ratio);
  const effects = Array.from(
    { length: Math.max(...plan.plots) + 1 },
    () => plotSd * standardNormal(uniform),
  );
  const y = Float64Array.from(
    plan.settings,
    (at, i) => truth(at) + effects[plan.plots[i]!]! + CELL_SD * standardNormal(uniform),
  );
  return { y, totalSd, next: PLACES.map((at) => truth(at) + totalSd * standardNormal(uniform)) };
}

function heldIn(plan: TrialPlan, { surface, refuted }: Judged, study: Study) {
  const intervals = intervalsHeld(surface, study);
  const statistic = gradientStatistic(surface, plan.factors);
  return {
    ...sizes(plan, refuted),
    ...intervals,
    stationary: Number(statistic !== null && statistic(BOTTOM) <= 1),
    ...chancesHeld(plan, surface, study.totalSd),
  };
}

/** Share of the tests that refute what is true; the constant is left out. */
function sizes({ isSetOncePerPlot }: TrialPlan, refuted: readonly boolean[]) {
  const share = (isOnce: boolean): number => {
    const own = refuted.filter((_, j) => j > 0 && isSetOncePerPlot[j] === isOnce);
    return own.filter(Boolean).length / own.length;
  };
  return { wholePlotSize: share(true), subPlotSize: share(false) };
}

function intervalsHeld(surface: ResponseSurface, { next }: Study) {
  let mean = 0;
  let setUp = 0;
  for (const [i, at] of PLACES.entries()) {
    const row = surface.row(at);
    const of = combinationEstimate(surface, row);
    const one = combinationEstimate(surface, row, { noiseShare: 1 });
    mean += Number(of.low! <= truth(at) && truth(at) <= of.high!) / PLACES.length;
    setUp += Number(one.low! <= next[i]! && next[i]! <= one.high!) / PLACES.length;
  }
  return { mean, setUp };
}

function chancesHeld(plan: TrialPlan, surface: ResponseSurface, totalSd: number) {
  const limit = SCORE * totalSd;
  const requirement = { response: 'y', atMost: limit, says: 'y' };
  const model = conformanceModel({ judged: [{ surface, requirement }], seed: 1 });
  const promise = assurance(model.parts, { seed: 1 });
  const { between, notBelow } = promise(BOTTOM);
  const own = ownBest(plan, surface);
  const trueAtOwn = normalLower((limit - truth(own)) / totalSd);
  return {
    chance: model.at(BOTTOM).probability,
    chanceHeld: Number(between[0] <= TRUE_CHANCE && TRUE_CHANCE <= between[1]),
    promised: Number(notBelow <= TRUE_CHANCE),
    ownChance: model.at(own).probability,
    ownTrue: trueAtOwn,
    ownPromised: Number(promise(own).notBelow <= trueAtOwn),
  };
}

/** Where the fit itself would put the recipe: its smallest mean inside the box. */
function ownBest({ factors }: TrialPlan, surface: ResponseSurface): Float64Array {
  const form = fullQuadratic(surface, factors, surface.coefficients, -1);
  const starts = [
    new Float64Array(3),
    Float64Array.of(0.5, -0.5, 0.5),
    Float64Array.of(-0.5, 0.5, -0.5),
  ];
  return bestInRegion(form, linearLimits(factors, []), { starts, free: [0, 1, 2] })!.at;
}
