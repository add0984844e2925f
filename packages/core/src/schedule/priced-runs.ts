import { type PlanCost, planCost } from './cost.ts';
import { type Hold, holdFor } from './hold.ts';
import { holdOf, type PriceOf } from './order-choice.ts';
import type { PlannedRun } from './planned-run.ts';
import { type TimeTrend, timeTrends } from './time-trend.ts';

/** Runs in the order they are run, with what that costs and how it follows time. */
export interface PricedRuns {
  readonly runs: readonly PlannedRun[];
  /** One a run, in run order; empty without a line. */
  readonly holds: readonly Hold[];
  readonly hours: number | null;
  readonly grams: number | null;
  readonly spools: number | null;
  readonly trends: readonly TimeTrend[];
  /** Largest of all linear and quadratic correlations. */
  readonly largestTrend: number;
  /** Run orders of cells whose hold pumps less than one barrel volume after settling. */
  readonly underFlushed: readonly number[];
}

/**
 * Holds, hours, grams and time trends of runs in the order given; without a line only the trends.
 *
 * @param runs - in run order, with set points when there is a line
 */
export function pricedRuns(runs: readonly PlannedRun[], options: PriceOf): PricedRuns {
  const holds = holdsOf(runs, options);
  const trends = timeTrends(
    runs.map((run) => run.coded),
    options.design.factors,
  );
  const cost = costOf(runs, holds, options);
  return {
    runs: runs.map((run, i) => ({ ...run, holdSeconds: holds[i]?.seconds ?? null })),
    holds,
    hours: cost?.hours ?? null,
    grams: cost?.grams ?? null,
    spools: cost?.spools ?? null,
    trends,
    largestTrend: Math.max(0, ...trends.flatMap(({ linear, quadratic }) => [linear, quadratic])),
    underFlushed: holds.flatMap((hold, i) => (hold.underFlushed ? [i + 1] : [])),
  };
}

function holdsOf(runs: readonly PlannedRun[], options: PriceOf): Hold[] {
  if (!options.line) return [];
  return runs.map((run, i) => {
    const from = i === 0 ? (options.start ?? { kind: 'ready' as const }) : runs[i - 1]!.setPoints!;
    return holdFor(holdOf(from, run.setPoints!, options));
  });
}

function costOf(
  runs: readonly PlannedRun[],
  holds: readonly Hold[],
  { line, grade, product, measureMinutes }: PriceOf,
): PlanCost | null {
  if (!line) return null;
  return planCost(
    runs.map((run, i) => ({ setPoints: run.setPoints!, hold: holds[i]! })),
    {
      line,
      ...(grade ? { grade } : {}),
      ...(product ? { product } : {}),
      ...(measureMinutes === undefined ? {} : { measureMinutes }),
    },
  );
}
