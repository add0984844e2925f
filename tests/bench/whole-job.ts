import {
  adoptedPlan,
  type ConfirmationVerdict,
  confirmationRuns,
  type Journal,
  middleSettings,
  openedFrom,
  openJournal,
  outputKgPerHour,
  planOf,
  predictorOf,
  type RecipeCard,
  type Recommendation,
  recipeCard,
  recommendation,
  reducedModels,
  releaseObjections,
  StudyDescription,
  type StudyState,
  scoutSetPoints,
  studyDefaults,
  studyFits,
  usualProbability,
} from '@strandwise/core';
import { memoryStudyStore } from '@strandwise/store';
import { demoScenario, type VirtualGrade, VirtualLine } from '@strandwise/virtual-line';
import { rehearsedScout } from '../../packages/cli/src/rehearsal/rehearsed-scout.ts';
import {
  type LineClock,
  lineClock,
  rehearsedWalk,
} from '../../packages/cli/src/rehearsal/rehearsed-walk.ts';
import { studyRecipe } from '../../packages/cli/src/release/study-recipe.ts';
import { adoptRanges, scoutOf } from '../../packages/cli/src/scouting/study-scout.ts';

export interface JobOf {
  readonly description: StudyDescription;
  readonly virtual: VirtualGrade;
  readonly seed: number;
  readonly driedPpm: number;
  readonly family: string;
  readonly options?: Readonly<Record<string, unknown>>;
  readonly setUps: number;
  /** Pellets of the confirmation: of the plan's drying batch, or of a new one with its own luck. */
  readonly confirmBatch: 'same' | 'new';
  /** Chance of conforming asked of the recipe. */
  readonly asked?: number;
}

export interface Job {
  readonly journal: Journal;
  readonly line: VirtualLine;
  readonly clock: LineClock;
  readonly found: Recommendation;
  readonly verdict: ConfirmationVerdict | null;
  readonly objections: readonly string[];
  readonly card: RecipeCard | null;
  /** Hours on the line: of scouting, of the plan, of the confirmation. */
  readonly hours: { readonly scout: number; readonly plan: number; readonly confirm: number };
  readonly scoutGrams: number;
}

/** The whole job without a hand: scout, plan, walk, fit, propose, confirm, release. */
export async function wholeJob(job: JobOf): Promise<Job> {
  const { description, virtual, seed, driedPpm, asked = usualProbability } = job;
  const clock = lineClock(Date.UTC(2026, 0, 5, 7));
  const store = memoryStudyStore();
  const opened = openedFrom(description);
  store.append([{ at: new Date(clock.now()).toISOString(), who: 'scientist', what: opened }], 0);
  const journal = openJournal(store, clock, 'operator');
  const { line: described, grade, product } = opened;
  const line = new VirtualLine({
    line: described,
    grade: virtual,
    product,
    seed,
    setPoints: scoutSetPoints(middleSettings(grade, described), { line: described }),
    moisturePpm: driedPpm,
  });
  const hoursSince = (from: number): number => (clock.now() - from) / 3_600_000;
  const begun = clock.now();
  const { advice, grams: scoutGrams } = rehearsedScout(scoutOf(journal.state()), {
    line,
    grade: virtual,
    clock,
    onStep: (step) => void journal.record({ kind: 'scout step', ...step }),
  });
  if (advice.kind === 'done') adoptRanges(journal, advice.proposal);
  const scout = hoursSince(begun);

  const planned = clock.now();
  journal.signAs('scientist');
  adoptPlan(journal, job);
  journal.signAs('operator');
  journal.record({
    kind: 'checks confirmed',
    items: ['rehearsal on the virtual line'],
    barrelHolds: grade.name,
    driedHours: grade.drying?.hours ?? null,
    hoursSinceDrying: 0,
  });
  line.refill(driedPpm);
  await rehearsedWalk({ journal, line, clock, driedPpm });
  const plan = hoursSince(planned);

  journal.signAs('analyst');
  const found = proposed(journal, asked);
  const confirming = clock.now();
  const base = { journal, line, clock, found, scoutGrams };
  if (found.kind !== 'found')
    return {
      ...base,
      verdict: null,
      objections: [`${found.kind}`],
      card: null,
      hours: { scout, plan, confirm: 0 },
    };
  if (found.probability === null || found.probability < asked)
    return {
      ...base,
      verdict: null,
      objections: ['below the chance asked'],
      card: null,
      hours: { scout, plan, confirm: 0 },
    };
  for (const extension of confirmationRuns(journal.state(), job.setUps)) journal.record(extension);
  line.refill(driedPpm, job.confirmBatch);
  await rehearsedWalk({ journal, line, clock, driedPpm });
  const hours = { scout, plan, confirm: hoursSince(confirming) };
  return { ...base, ...released(journal, asked, clock), hours };
}

function adoptPlan(journal: Journal, { family, options = {}, seed }: JobOf): void {
  const state = journal.state();
  const { factors, line, grade, product } = state.opened;
  const plan = planOf({
    factors,
    model: 'quadratic',
    family,
    options,
    seed,
    surroundings: { line, grade, product, defaults: studyDefaults(state) },
  });
  journal.record({ kind: 'plan adopted', plan: adoptedPlan(plan) });
}

function proposed(journal: Journal, asked: number): Recommendation {
  const state = journal.state();
  const found = recommendation(predictorOf(state, studyFits(state, reducedModels(state))), asked);
  if (found.kind === 'found')
    journal.record({
      kind: 'recipe proposed',
      setPoints: found.setPoints,
      natural: { ...found.natural },
      says: [],
    });
  return found;
}

function released(
  journal: Journal,
  asked: number,
  clock: LineClock,
): Pick<Job, 'verdict' | 'objections' | 'card'> {
  const { predictor, recipe, verdict } = studyRecipe(journal.state(), asked);
  if (!verdict) return { verdict, objections: ['nothing can judge the recipe'], card: null };
  const objections = releaseObjections(recipe, verdict, journal.state());
  if (objections.length > 0) return { verdict, objections, card: null };
  const card = recipeCard({
    predictor,
    recipe,
    verdict,
    signedBy: 'simulation',
    at: new Date(clock.now()).toISOString(),
  });
  journal.record({
    kind: 'recipe released',
    version: card.recipeVersion,
    setPoints: card.setPoints,
    card,
  });
  return { verdict, objections, card };
}

/** Grams that the cells of a study took, holds included. */
export function cellGrams(state: StudyState): number {
  const { line, grade } = state.opened;
  return state.cells.reduce((sum, { entered, heldSeconds, holdSeconds }) => {
    if (!entered) return sum;
    const seconds = (heldSeconds ?? holdSeconds ?? 0) + 60 * line.measureMinutes;
    return sum + (1000 * seconds * outputKgPerHour(line, entered.screwRpm, grade)) / 3600;
  }, 0);
}

/** The description of a demonstration grade without factor ranges: scouting has to find them. */
export const jobDescription = (
  name: string,
  grade: StudyDescription['grade'],
  seed: number,
): StudyDescription =>
  StudyDescription.parse({
    name,
    invented: true,
    grade,
    line: demoScenario.line,
    product: demoScenario.product,
    seed,
  });
