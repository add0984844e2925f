import {
  adoptedPlan,
  type FitResult,
  type Journal,
  type Plan,
  type PlanRequest,
  type Predictor,
  planOf,
  predictorOf,
  type Recommendation,
  recommendation,
  reducedModels,
  StudyDescription,
  type StudyState,
  studyFits,
} from '@strandwise/core';
import { demoScenario, VirtualLine } from '@strandwise/virtual-line';
import { type LineClock, rehearsedWalk } from '../rehearsal/rehearsed-walk.ts';

/** The invented grade on the invented line. */
export const demoDescription = (seed: number): StudyDescription =>
  StudyDescription.parse({
    name: 'PX-31 on bench line 2',
    invented: true,
    grade: demoScenario.grade,
    line: demoScenario.line,
    product: demoScenario.product,
    factors: demoScenario.factors,
    seed,
  });

export interface DemonstrationOf {
  readonly journal: Journal;
  readonly clock: LineClock;
  readonly seed: number;
  readonly request: PlanRequest;
  /** Keep every term of the model. */
  readonly whole?: boolean;
  /** Told as each part begins, so that whoever watches knows what takes time. */
  readonly onPart?: (part: DemoPart) => void;
  readonly onCell?: (state: StudyState) => void;
}

/** The parts of the job, each as soon as it is done. */
export type DemoPart =
  | { readonly kind: 'planned'; readonly plan: Plan }
  | { readonly kind: 'walked'; readonly state: StudyState }
  | { readonly kind: 'fitted'; readonly fits: FitResult }
  | { readonly kind: 'recommended'; readonly found: Recommendation };

export interface DemonstratedJob {
  readonly predictor: Predictor;
  readonly found: Recommendation;
}

/** Plans, walks, fits and recommends on the virtual line; everything goes through the study's journal. */
export async function demonstratedJob(demonstration: DemonstrationOf): Promise<DemonstratedJob> {
  const { journal, request, onPart } = demonstration;
  const plan = planOf(request);
  journal.record({ kind: 'plan adopted', plan: adoptedPlan(plan) });
  onPart?.({ kind: 'planned', plan });

  journal.signAs('operator');
  await walkedOnVirtualLine(demonstration);
  onPart?.({ kind: 'walked', state: journal.state() });

  journal.signAs('analyst');
  const models = demonstration.whole ? {} : reducedModels(journal.state());
  const fits = studyFits(journal.state(), models);
  onPart?.({ kind: 'fitted', fits });

  const predictor = predictorOf(journal.state(), fits);
  const found = recommendation(predictor);
  if (found.kind === 'found') {
    const { setPoints, natural } = found;
    journal.record({ kind: 'recipe proposed', setPoints, natural: { ...natural }, says: [] });
  }
  onPart?.({ kind: 'recommended', found });
  return { predictor, found };
}

async function walkedOnVirtualLine({
  journal,
  clock,
  seed,
  onCell,
}: DemonstrationOf): Promise<void> {
  const { opened, cells } = journal.state();
  journal.record({
    kind: 'checks confirmed',
    items: ['rehearsal on the virtual line'],
    barrelHolds: 'clean',
    driedHours: opened.grade.drying?.hours ?? null,
    hoursSinceDrying: 0,
  });
  const line = new VirtualLine({
    line: opened.line,
    grade: demoScenario.virtualGrade,
    product: opened.product,
    seed,
    setPoints: cells[0]!.run.setPoints!,
    moisturePpm: demoScenario.driedPpm,
  });
  await rehearsedWalk({
    journal,
    line,
    clock,
    driedPpm: demoScenario.driedPpm,
    onCell: (state) => {
      onCell?.(state);
      return 'go on';
    },
  });
}
