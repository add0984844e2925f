import { chiSquaredQuantile, chiSquaredUpperQuantile } from '../distribution/chi-squared.ts';
import { normalUpperQuantile } from '../distribution/normal.ts';
import type { RemlCriterion, RemlState } from './reml.ts';
import type { VarianceComponent } from './split-plot-result.ts';

const OFFSET = 1e-3;
const FLOOR = Math.log(OFFSET);
const CEILING = Math.log(1e9);

/**
 * Variance components with profile likelihood intervals: the values that some choice of the other
 * components keeps within the likelihood drop ½z² of the top.
 *
 * At given ratios the criterion in the residual variance s is ν(ln s + ŝ/s) plus a constant, so the
 * range of s is found without touching the data; the limits are the extremes of ratio·s over ratios.
 *
 * @param names - of the strata, outermost first, and of the residual
 * @param isEstimated - false when the ratios were given: then all rest on the residual's chi-squared
 */
export function varianceComponents(
  names: readonly string[],
  state: RemlState,
  criterion: RemlCriterion,
  { confidence, isEstimated }: { readonly confidence: number; readonly isEstimated: boolean },
): VarianceComponent[] {
  const df = state.data.rows - state.data.cols;
  const residual = state.squares / df;
  const ratios = [...state.ratios, 1];
  const tail = (1 - confidence) / 2;
  const limits = isEstimated
    ? profileLimits(state, criterion, normalUpperQuantile(tail) ** 2)
    : ratios.map((ratio) => ({
        low: (ratio * state.squares) / chiSquaredUpperQuantile(tail, df),
        high: (ratio * state.squares) / chiSquaredQuantile(tail, df),
      }));
  return ratios.map((ratio, k) => ({
    name: names[k]!,
    variance: ratio * residual,
    standardDeviation: Math.sqrt(ratio * residual),
    ratio,
    low: limits[k]!.low,
    high: limits[k]!.high,
    interval: isEstimated ? 'profile' : 'chi-squared',
    isAtBoundary: isEstimated && ratio === 0,
  }));
}

interface Limits {
  readonly low: number;
  readonly high: number;
}

function profileLimits(state: RemlState, criterion: RemlCriterion, drop: number): Limits[] {
  const q = state.ratios.length;
  const df = state.data.rows - state.data.cols;
  const ceiling = state.criterion + drop;
  const start = Array.from(state.ratios, (ratio) => Math.log(ratio + OFFSET));
  const extreme = (k: number, side: 1 | -1): number => {
    const found = compassSearch(start, (u) => {
      const ratios = ratiosOf(u);
      const { logDeterminants, squares } = criterion.parts(ratios);
      const top = logDeterminants + df * (1 + Math.log((2 * Math.PI * squares) / df));
      const slack = ceiling - top;
      if (!(slack >= 0)) return Number.NEGATIVE_INFINITY;
      const s = Math.log(squares / df) + side * logReach(slack / df, side);
      return side * (s + (k < q ? Math.log(ratios[k]!) : 0));
    });
    return Math.exp(side * found);
  };
  return Array.from({ length: q + 1 }, (_, k) => ({
    low: k < q && isZeroLikely(start, criterion, k, ceiling) ? 0 : extreme(k, -1),
    high: extreme(k, 1),
  }));
}

/** Whether the component may be zero: the criterion there, best over the others, is low enough. */
function isZeroLikely(
  start: readonly number[],
  criterion: RemlCriterion,
  k: number,
  ceiling: number,
): boolean {
  const pinned = start.map((value, i) => (i === k ? FLOOR : value));
  const best = compassSearch(
    pinned,
    (u) => -criterion.value(ratiosOf(u).map((ratio, i) => (i === k ? 0 : ratio))),
  );
  return -best <= ceiling;
}

/** t ≥ 0 with ±t + e^∓t − 1 = slack: how far ln s may go up or down. Newton from the far side. */
function logReach(slack: number, side: 1 | -1): number {
  let t = side === 1 ? slack + 1 : Math.sqrt(2 * slack);
  for (let step = 0; step < 60; step++) {
    const power = Math.exp(-side * t);
    const slope = side * (1 - power);
    if (slope === 0) return 0;
    const move = (side * t + power - 1 - slack) / slope;
    t -= move;
    if (Math.abs(move) <= 1e-12 * (1 + t)) break;
  }
  return Math.max(t, 0);
}

function ratiosOf(u: readonly number[]): number[] {
  return u.map((value) => (value <= FLOOR ? 0 : Math.exp(value) - OFFSET));
}

/** Largest value of f found by steps along the axes, halved when none helps. */
function compassSearch(start: readonly number[], f: (u: readonly number[]) => number): number {
  let at = start;
  let best = f(at);
  for (let step = 1; step > 1e-4; ) {
    let isBetter = false;
    for (let k = 0; k < start.length; k++) {
      for (const side of [step, -step]) {
        const next = at.map((value, i) =>
          i === k ? Math.min(CEILING, Math.max(FLOOR, value + side)) : value,
        );
        const value = f(next);
        if (value > best) {
          best = value;
          at = next;
          isBetter = true;
        }
      }
    }
    if (!isBetter) step /= 2;
  }
  return best;
}
