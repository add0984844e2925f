import type { Design } from '../design/design.ts';
import { DomainError } from '../error/domain-error.ts';
import type { Factor } from '../factor/factor.ts';
import type { Uniform } from '../random/uniform.ts';
import type { SetPoints } from '../trade/line.ts';
import { type HoldOf, holdFor, type StartState, studyHold } from './hold.ts';
import type { OrderOf } from './order-rule.ts';
import { bestOrder, type OrderSearch } from './order-search.ts';
import type { PreparedRun } from './prepared-run.ts';
import { leavesInto, runTree, shuffledTree } from './run-tree.ts';
import { normalised, timeContrasts, trendColumns } from './time-trend.ts';

/**
 * Indices of the design's runs in the order that the rule asks for.
 *
 * @throws {DomainError} `line_needed` when the rule needs holds and there is no line
 */
export function chosenOrder(
  prepared: readonly PreparedRun[],
  options: OrderOf,
  uniform: Uniform,
): number[] {
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
export function isFalseReset(
  before: number,
  after: number,
  prepared: readonly PreparedRun[],
  { runs }: Design,
  keepPlots: boolean,
): boolean {
  const plotBefore = keepPlots ? runs[before]!.wholePlot : null;
  const plotAfter = keepPlots ? runs[after]!.wholePlot : null;
  if (plotBefore === null || plotAfter === null)
    return prepared[before]!.allKey === prepared[after]!.allKey;
  return plotBefore !== plotAfter && prepared[before]!.hardKey === prepared[after]!.hardKey;
}

function falseResetCounter(prepared: readonly PreparedRun[], design: Design, keepPlots: boolean) {
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

function waitingOf(prepared: readonly PreparedRun[], options: OrderOf) {
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
function trendOf(prepared: readonly PreparedRun[], factors: readonly Factor[]) {
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

/** What holds and costs depend on. */
export type PriceOf = Omit<OrderOf, 'order' | 'seed' | 'design' | 'defaults'> & {
  readonly design: Pick<Design, 'factors'>;
};

/** What `holdFor` needs, from a plan's options. */
export function holdOf(from: SetPoints | StartState, to: SetPoints, options: PriceOf): HoldOf {
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
export function otherTier(
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
