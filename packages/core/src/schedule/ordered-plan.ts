import { seededUniform } from '../random/uniform.ts';
import { chosenOrder, isFalseReset } from './order-choice.ts';
import type { OrderOf, OrderRule } from './order-rule.ts';
import type { PlannedRun } from './planned-run.ts';
import { type PreparedRun, preparedRun } from './prepared-run.ts';
import { type PricedRuns, pricedRuns } from './priced-runs.ts';

export { type OrderOf, OrderRule } from './order-rule.ts';

/** A design in run order, and what the order costs and risks. */
export interface OrderedPlan extends PricedRuns {
  readonly order: OrderRule;
  readonly seed: number;
  /** Run orders that begin a whole plot at the hard settings of the one before: not a reset. */
  readonly falseResets: readonly number[];
  readonly notes: readonly string[];
}

/**
 * Puts a design in run order and prices it: set points rounded to what the controller takes, the
 * settings those really make, a hold for every step, hours and grams, and the correlation of each
 * factor with time.
 *
 * Whole plots are ordered so that none follows another at the same hard settings where that can be
 * had, because a setting that was not left cannot be reset.
 *
 * @throws {DomainError} `set_points_refused` when a cell breaks a limit of line or grade
 * @throws {DomainError} `missing_setting` when a zone has neither factor nor default
 */
export function orderedPlan(options: OrderOf): OrderedPlan {
  const { design, order: rule, seed } = options;
  const prepared = design.runs.map((run, i) => preparedRun(run.coded, i, options));
  const uniform = seededUniform(seed, 'run order');
  const order = chosenOrder(prepared, options, uniform);
  const keepPlots = rule !== 'complete';
  const priced = pricedRuns(numberedRuns(order, prepared, options, keepPlots), options);
  const falseResets = order.flatMap((index, at) =>
    at > 0 && isFalseReset(order[at - 1]!, index, prepared, design, keepPlots) ? [at + 1] : [],
  );
  return {
    ...priced,
    order: rule,
    seed,
    falseResets,
    notes: notesOn({ ...priced, falseResets }),
  };
}

function numberedRuns(
  order: readonly number[],
  prepared: readonly PreparedRun[],
  { design }: OrderOf,
  keepPlots: boolean,
): PlannedRun[] {
  const plots = new Map<number, number>();
  const subPlots = new Map<string, number>();
  const renumbered = <K>(seen: Map<K, number>, key: K): number => {
    if (!seen.has(key)) seen.set(key, seen.size + 1);
    return seen.get(key)!;
  };
  return order.map((index, i) => {
    const run = design.runs[index]!;
    const { coded, natural, setPoints } = prepared[index]!;
    const { wholePlot, subWholePlot } = keepPlots ? run : { wholePlot: null, subWholePlot: null };
    return {
      runOrder: i + 1,
      designOrder: index + 1,
      block: run.block,
      wholePlot: wholePlot === null ? null : renumbered(plots, wholePlot),
      subWholePlot:
        subWholePlot === null ? null : renumbered(subPlots, `${wholePlot}/${subWholePlot}`),
      kind: run.kind,
      coded: { ...coded },
      natural: { ...natural },
      setPoints,
      holdSeconds: null,
    };
  });
}

/** Correlation with time from which a drift can pass for a factor's effect; common practice. */
const worryingTrend = 0.5;

function notesOn({
  trends,
  falseResets,
  underFlushed,
}: Pick<OrderedPlan, 'trends' | 'falseResets' | 'underFlushed'>): string[] {
  const notes: string[] = [];
  for (const { factor, linear, quadratic } of trends) {
    const worst = Math.max(linear, quadratic);
    if (worst < worryingTrend) continue;
    const shape = linear >= quadratic ? 'time' : 'a bow in time';
    notes.push(
      `"${factor}" follows ${shape} (correlation ${worst.toFixed(2)}): a drift through the day would look like its effect.`,
    );
  }
  if (falseResets.length > 0) {
    notes.push(
      `Run${falseResets.length > 1 ? 's' : ''} ${falseResets.join(', ')} repeat the hard settings of the run before: change away and back, or they are not replicates.`,
    );
  }
  if (underFlushed.length > 0) {
    notes.push(
      `${underFlushed.length} cell${underFlushed.length > 1 ? 's are' : ' is'} measured before one barrel volume has passed since the zones settled: the cell before may carry over.`,
    );
  }
  return notes;
}
