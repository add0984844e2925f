import {
  assessedPlan,
  type NamedPlan,
  type PlanComparison,
  type PlanRequest,
} from '@strandwise/core';
import { comparisonLines } from '../screen/plan/lines.ts';
import { painted } from '../terminal/line.ts';
import type { Theme } from '../theme.ts';
import type { Given, Surroundings } from './command.ts';
import { changeFrom } from './plan-request.ts';
import { planSearchOf } from './plan-search.ts';
import type { Planning } from './planning.ts';
import { stoppable } from './search-line.ts';

/** Plans of several requests, each searched in turn; a stop leaves those to come at their first start. */
export async function besidePlans(
  requests: readonly PlanRequest[],
  names: readonly string[],
  { planning, given, around }: { planning: Planning; given: Given; around: Surroundings },
): Promise<NamedPlan[]> {
  const change = changeFrom(given, planning.request.factors, planning.responses);
  return stoppable(around, async (signal) => {
    const plans: NamedPlan[] = [];
    for (const [i, request] of requests.entries()) {
      const about = requests.length > 1 ? `plan ${i + 1} of ${requests.length}` : '';
      const plan = await planSearchOf(request, { about, signal }, given, around);
      plans.push({ name: names[i]!, ...assessedPlan(plan, change) });
    }
    return plans;
  });
}

/** A comparison as text: the screen's table in full, and what each plan cannot tell. */
export function comparisonText(
  comparison: PlanComparison,
  plans: readonly NamedPlan[],
  { title, columns, theme }: { title: string; columns: number; theme: Theme },
): string {
  const lines = comparisonLines({ title, plans, comparison, orders: null }, Math.max(80, columns));
  return painted(lines, theme);
}
