import { z } from 'zod';
import type { Design } from '../design/design.ts';
import { DomainError } from '../error/domain-error.ts';
import { codedPoint, naturalPoint, type Point } from '../factor/coding.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';
import { roundedTo } from '../factor/zone-profile.ts';
import { seededUniform, type Uniform } from '../random/uniform.ts';
import type { Grade, Product } from '../trade/grade.ts';
import { pointOf, type SettingDefaults, setPointsOf } from '../trade/limits.ts';
import type { Line, SetPoints } from '../trade/line.ts';
import { refusals } from '../trade/refusal.ts';
import { type PlanCost, planCost } from './cost.ts';
import {
  type Hold,
  type HoldOf,
  type HoldRule,
  holdFor,
  type StartState,
  studyHold,
} from './hold.ts';
import { bestOrder, type OrderSearch } from './order-search.ts';
import type { PlannedRun } from './planned-run.ts';
import { leavesInto, runTree, shuffledTree } from './run-tree.ts';
import {
  normalised,
  type TimeTrend,
  timeContrasts,
  timeTrends,
  trendColumns,
} from './time-trend.ts';

/**
 * How to put a design in order; blocks always stay in theirs. `complete`: every run in random order,
 * set anew. `within-plots`: whole plots in random order, runs in random order within. `trend-robust`:
 * settings as little as can be found correlated with linear and quadratic time. `fewest-hours`: least
 * waiting, which often follows time.
 */
export const OrderRule = z.enum(['complete', 'within-plots', 'trend-robust', 'fewest-hours']);
export type OrderRule = z.infer<typeof OrderRule>;

/** What `orderedPlan` takes. Without a line there are no set points, holds, hours or grams. */
export interface OrderOf {
  readonly design: Design;
  readonly line?: Line;
  readonly grade?: Grade;
  readonly product?: Pick<Product, 'diameterMm'>;
  readonly defaults?: SettingDefaults;
  readonly order: OrderRule;
  readonly seed: number;
  readonly holdRule?: HoldRule;
  readonly start?: StartState;
  readonly measureMinutes?: number;
}

/** A design in run order, and what the order costs and risks. */
export interface OrderedPlan {
  readonly runs: readonly PlannedRun[];
  readonly order: OrderRule;
  readonly seed: number;
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
  /** Run orders that begin a whole plot at the hard settings of the one before: not a reset. */
  readonly falseResets: readonly number[];
  readonly notes: readonly string[];
}

/** A run with its settings worked out, before it is put in order. */
interface Prepared {
  readonly coded: Point;
  readonly natural: Point;
  readonly setPoints: SetPoints | null;
  readonly hardKey: string;
  readonly allKey: string;
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
  const runs = numberedRuns(order, prepared, options, keepPlots);
  const holds = holdsOf(runs, options);
  const timed = runs.map((run, i) => ({ ...run, holdSeconds: holds[i]?.seconds ?? null }));
  const trends = timeTrends(
    runs.map((run) => run.coded),
    design.factors,
  );
  const largestTrend = Math.max(0, ...trends.flatMap((trend) => [trend.linear, trend.quadratic]));
  const falseResets = order.flatMap((index, at) =>
    at > 0 && isFalseReset(order[at - 1]!, index, prepared, design, keepPlots) ? [at + 1] : [],
  );
  const underFlushed = holds.flatMap((hold, i) => (hold.underFlushed ? [i + 1] : []));
  const cost = costOf(timed, holds, options);
  return {
    runs: timed,
    order: rule,
    seed,
    holds,
    hours: cost?.hours ?? null,
    grams: cost?.grams ?? null,
    spools: cost?.spools ?? null,
    trends,
    largestTrend,
    underFlushed,
    falseResets,
    notes: notesOn({ trends, falseResets, underFlushed }),
  };
}

function preparedRun(coded: Point, index: number, options: OrderOf): Prepared {
  const { design, line, grade, product, defaults } = options;
  const { factors } = design;
  let natural = naturalPoint(coded, factors);
  let setPoints: SetPoints | null = null;
  if (line) {
    setPoints = setPointsOf(natural, factors, line, defaults);
    natural = pointOf(setPoints, factors, line);
    const refused = grade ? refusals(setPoints, line, grade, product) : [];
    if (refused.length > 0) {
      throw new DomainError(
        'set_points_refused',
        `orderedPlan: every cell must stay inside the limits of line and grade; got ${refused.length} broken (design order ${index + 1}): ${refused.map(({ says }) => says).join(' ')} Constrain the design or narrow its ranges.`,
        { designOrder: index + 1, refusals: refused },
      );
    }
  } else {
    natural = roundedNatural(natural, factors);
  }
  const analysed = codedPoint(natural, factors);
  const key = (wanted: (factor: Factor) => boolean): string =>
    factors
      .filter(wanted)
      .map((factor) => analysed[factor.name])
      .join('|');
  return {
    coded: analysed,
    natural,
    setPoints,
    hardKey: key((factor) => factor.changes === 'hard'),
    allKey: key(() => true),
  };
}

function roundedNatural(natural: Point, factors: readonly Factor[]): Point {
  const out: Record<string, number | string> = { ...natural };
  for (const factor of factors) {
    if (isNumeric(factor) && factor.step)
      out[factor.name] = roundedTo(Number(natural[factor.name]), factor.step);
  }
  return out;
}

function chosenOrder(prepared: readonly Prepared[], options: OrderOf, uniform: Uniform): number[] {
  const { design, order: rule } = options;
  const n = prepared.length;
  const tree = runTree(design.runs, rule !== 'complete');
  const search: OrderSearch = {
    runs: n,
    starts: n > 80 ? 3 : 8,
    evaluationsPerStart: 12_000,
    uniform,
  };
  const falseResets = falseResetCounter(prepared, design, rule !== 'complete');
  if (rule === 'fewest-hours') {
    const waiting = waitingOf(prepared, options);
    return [...bestOrder(tree, (order) => waiting(order) + 86_400 * falseResets(order), search)];
  }
  if (rule === 'trend-robust') {
    const trend = trendOf(prepared, design.factors);
    return [...bestOrder(tree, (order) => trend(order) + falseResets(order), search)];
  }
  let best: number[] = [];
  let fewest = Number.POSITIVE_INFINITY;
  for (let draw = 0; draw < 200 && fewest > 0; draw++) {
    const order = leavesInto(new Int32Array(n), shuffledTree(tree, uniform));
    const count = falseResets(order);
    if (count < fewest) {
      fewest = count;
      best = [...order];
    }
  }
  return best;
}

/** A new whole plot at the settings of the last one (or, without plots, a repeat next to its twin). */
function isFalseReset(
  before: number,
  after: number,
  prepared: readonly Prepared[],
  { runs }: Design,
  keepPlots: boolean,
): boolean {
  const plotBefore = keepPlots ? runs[before]!.wholePlot : null;
  const plotAfter = keepPlots ? runs[after]!.wholePlot : null;
  if (plotBefore === null || plotAfter === null)
    return prepared[before]!.allKey === prepared[after]!.allKey;
  return plotBefore !== plotAfter && prepared[before]!.hardKey === prepared[after]!.hardKey;
}

function falseResetCounter(prepared: readonly Prepared[], design: Design, keepPlots: boolean) {
  const n = prepared.length;
  const table = Uint8Array.from({ length: n * n }, (_, k) =>
    isFalseReset(Math.floor(k / n), k % n, prepared, design, keepPlots) ? 1 : 0,
  );
  return (order: Int32Array): number => {
    let count = 0;
    for (let i = 1; i < n; i++) count += table[order[i - 1]! * n + order[i]!]!;
    return count;
  };
}

function waitingOf(prepared: readonly Prepared[], options: OrderOf) {
  const n = prepared.length;
  if (!options.line) {
    throw new DomainError(
      'line_needed',
      'orderedPlan: order "fewest-hours" must have a line to take hold times from; got none. Describe the line or choose another order.',
    );
  }
  const steps = new Float64Array(n * n);
  const first = new Float64Array(n);
  const start = options.start ?? { kind: 'ready' };
  for (let i = 0; i < n; i++) {
    first[i] = holdFor(holdOf(start, prepared[i]!.setPoints!, options)).seconds;
    for (let j = 0; j < n; j++) {
      if (i === j) continue;
      const from = prepared[i]!.setPoints!;
      steps[i * n + j] = holdFor(holdOf(from, prepared[j]!.setPoints!, options)).seconds;
    }
  }
  return (order: Int32Array): number => {
    let sum = first[order[0]!]!;
    for (let i = 1; i < n; i++) sum += steps[order[i - 1]! * n + order[i]!]!;
    return sum;
  };
}

/** Largest correlation with time, and a little of the rest so that ties are broken by them. */
function trendOf(prepared: readonly Prepared[], factors: readonly Factor[]) {
  const n = prepared.length;
  const coded = prepared.map((run) => run.coded);
  const columns = factors.flatMap((factor) => trendColumns(coded, factor)).map(normalised);
  const { linear, quadratic } = timeContrasts(n);
  return (order: Int32Array): number => {
    let largest = 0;
    let squares = 0;
    for (const column of columns) {
      let a = 0;
      let b = 0;
      for (let i = 0; i < n; i++) {
        const value = column[order[i]!]!;
        a += value * linear[i]!;
        b += value * quadratic[i]!;
      }
      largest = Math.max(largest, Math.abs(a), Math.abs(b));
      squares += a * a + b * b;
    }
    return largest + squares;
  };
}

function holdOf(from: SetPoints | StartState, to: SetPoints, options: OrderOf): HoldOf {
  const { design, line, grade, product, holdRule = studyHold } = options;
  return {
    from,
    to,
    line: line!,
    rule: holdRule,
    otherChange: otherTier(from, to, design.factors),
    ...(grade ? { grade } : {}),
    ...(product ? { diameterMm: product.diameterMm } : {}),
  };
}

/** Dearest tier among the factors, unknown to the line, that change. */
function otherTier(
  from: SetPoints | StartState,
  to: SetPoints,
  factors: readonly Factor[],
): 'easy' | 'semi-hard' | 'hard' {
  if ('kind' in from) return 'easy';
  const tiers = factors
    .filter(({ name }) => name in to.other && from.other[name] !== to.other[name])
    .map((factor) => factor.changes);
  return tiers.includes('hard') ? 'hard' : tiers.includes('semi-hard') ? 'semi-hard' : 'easy';
}

function numberedRuns(
  order: readonly number[],
  prepared: readonly Prepared[],
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

function holdsOf(runs: readonly PlannedRun[], options: OrderOf): Hold[] {
  if (!options.line) return [];
  return runs.map((run, i) => {
    const from = i === 0 ? (options.start ?? { kind: 'ready' as const }) : runs[i - 1]!.setPoints!;
    return holdFor(holdOf(from, run.setPoints!, options));
  });
}

function costOf(
  runs: readonly PlannedRun[],
  holds: readonly Hold[],
  { line, grade, product, measureMinutes }: OrderOf,
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
