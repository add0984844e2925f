import { z } from 'zod';
import { PlannedRun } from '../schedule/planned-run.ts';
import type { AssessedPlan } from './assess.ts';
import { PlanProperties } from './plan-properties.ts';

/** What `plan --json` answers: the runs in the order to run them, and what they can tell. */
export const PlanAnswer = z.strictObject({
  seed: z.int(),
  family: z.string(),
  order: z.enum(['complete', 'within-plots', 'trend-robust', 'fewest-hours']),
  runs: z.array(PlannedRun).min(1),
  properties: PlanProperties,
});
export type PlanAnswer = z.infer<typeof PlanAnswer>;

export function planAnswer({ plan, properties }: AssessedPlan): PlanAnswer {
  const { request, design, ordered } = plan;
  return {
    seed: request.seed,
    family: design.family,
    order: ordered.order,
    runs: ordered.runs.map((run) => ({ ...run })),
    properties,
  };
}
