import {
  adoptedPlan,
  checkPlan,
  checkReadings,
  checkRuns,
  checkStudy,
  codedPoint,
  openedFrom,
  openJournal,
  type Predictor,
  planOf,
  predictorOf,
  recommendation,
  reducedModels,
  type SetPoints,
  type StudyState,
  settingsOf,
  studyDefaults,
  studyFits,
  type TransferVerdict,
  transferVerdict,
  usualProbability,
} from '@strandwise/core';
import { memoryStudyStore } from '@strandwise/store';
import { demoScenario, type VirtualGrade, VirtualLine } from '@strandwise/virtual-line';
import { demoDescription } from '../../packages/cli/src/demonstration/demonstrated-job.ts';
import { lineClock, rehearsedWalk } from '../../packages/cli/src/rehearsal/rehearsed-walk.ts';

/** A lot whose every temperature characteristic stands this much higher: the optimum moves with it. */
export function shiftedLot(grade: VirtualGrade, celsius: number): VirtualGrade {
  const gas = 8.314;
  const moved = (energy: number, at: number): number =>
    Math.exp((energy / gas) * (1 / (at - celsius) - 1 / at));
  return {
    ...grade,
    feedBestCelsius: grade.feedBestCelsius + celsius,
    softeningCelsius: grade.softeningCelsius + celsius,
    viscosityPas: grade.viscosityPas * moved(grade.flowEnergy, 473),
    degradationRate: grade.degradationRate / moved(grade.degradationEnergy, 483),
  };
}

export interface QualifiedStudy {
  readonly state: StudyState;
  readonly predictor: Predictor;
  readonly recipe: Float64Array;
  readonly setPoints: SetPoints;
}

/** The demonstration study, walked and fitted, with its recipe; null when none was found. */
export async function qualifiedStudy(seed: number): Promise<QualifiedStudy | null> {
  const clock = lineClock(Date.UTC(2026, 0, 5, 7));
  const store = memoryStudyStore();
  const opened = openedFrom(demoDescription(seed));
  store.append([{ at: new Date(clock.now()).toISOString(), who: 'scientist', what: opened }], 0);
  const journal = openJournal(store, clock, 'operator');
  const { factors, line, grade, product } = opened;
  const plan = planOf({
    factors,
    model: 'quadratic',
    family: 'central composite',
    options: { alpha: 'face-centred' },
    seed,
    surroundings: { line, grade, product, defaults: studyDefaults(journal.state()) },
  });
  journal.record({ kind: 'plan adopted', plan: adoptedPlan(plan) });
  const { virtualGrade, driedPpm } = demoScenario;
  const first = journal.state().cells[0]!.run.setPoints!;
  const virtual = new VirtualLine({
    line,
    grade: virtualGrade,
    product,
    seed,
    setPoints: first,
    moisturePpm: driedPpm,
  });
  await rehearsedWalk({ journal, line: virtual, clock, driedPpm });
  const state = journal.state();
  const predictor = predictorOf(state, studyFits(state, reducedModels(state)));
  const found = recommendation(predictor);
  if (found.kind !== 'found') return null;
  // Terms picked because they looked large would make a surface too sharp: a shift is read off all of them.
  const whole = predictorOf(state, studyFits(state));
  return {
    state,
    predictor: whole,
    recipe: settingsOf(codedPoint(found.natural, factors), factors),
    setPoints: found.setPoints,
  };
}

/** Checks the recipe of a study on a lot moved by some degrees, with this many check runs. */
export async function transferTrial(
  { state, predictor, recipe }: QualifiedStudy,
  {
    celsius,
    runs,
    seed,
  }: { readonly celsius: number; readonly runs: number; readonly seed: number },
): Promise<TransferVerdict> {
  const clock = lineClock(Date.UTC(2026, 1, 2, 7));
  const store = memoryStudyStore();
  const opened = checkStudy(state, { lot: 'invented next lot', name: 'next lot' });
  store.append([{ at: new Date(clock.now()).toISOString(), who: 'scientist', what: opened }], 0);
  const journal = openJournal(store, clock, 'operator');
  const planned = checkRuns({ predictor, recipe, runs });
  journal.record({ kind: 'plan adopted', plan: checkPlan(planned, state, opened) });
  const { line, product } = opened;
  const virtual = new VirtualLine({
    line,
    grade: shiftedLot(demoScenario.virtualGrade, celsius),
    product,
    seed,
    setPoints: journal.state().cells[0]!.run.setPoints!,
    moisturePpm: demoScenario.driedPpm,
  });
  await rehearsedWalk({ journal, line: virtual, clock, driedPpm: demoScenario.driedPpm });
  return transferVerdict({
    predictor,
    recipe,
    watched: planned.watched,
    ...checkReadings(journal.state()),
    asked: usualProbability,
  });
}
