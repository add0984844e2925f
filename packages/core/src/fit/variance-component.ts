import { chiSquaredQuantile, chiSquaredUpperQuantile } from '../distribution/chi-squared.ts';
import { normalUpperQuantile } from '../distribution/normal.ts';
import { type RatioScale, ratioScale } from './ratio-scale.ts';
import type { RemlCriterion, RemlState } from './reml.ts';
import type { VarianceComponent } from './split-plot-result.ts';

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
  const scale = ratioScale(state.data);
  const start = scale.values(Array.from(state.ratios));
  const extreme = (k: number, side: 1 | -1): number => {
    const found = compassSearch(start, scale, (u) => {
      const ratios = scale.ratios(u);
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
    low: k < q && isZeroLikely(start, scale, criterion, k, ceiling) ? 0 : extreme(k, -1),
    high: extreme(k, 1),
  }));
}

/** Whether the component may be zero: the criterion there, best over the others, is low enough. */
function isZeroLikely(
  start: readonly number[],
  scale: RatioScale,
  criterion: RemlCriterion,
  k: number,
  ceiling: number,
): boolean {
  const pinned = (u: readonly number[]) => scale.ratios(u).map((ratio, i) => (i === k ? 0 : ratio));
  if (criterion.value(pinned(start)) <= ceiling) return true;
  if (start.length === 1) return false;
  return -compassSearch(start, scale, (u) => -criterion.value(pinned(u))) <= ceiling;
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

/**
 * Largest value of f found by steps along the axes, cut to a third when none helps. A last step of
 * 0.001 in ln ratio leaves the value, flat at its top, within about 1e-6.
 */
function compassSearch(
  start: readonly number[],
  scale: RatioScale,
  f: (u: readonly number[]) => number,
): number {
  let at = start;
  let best = f(at);
  for (let step = 1; step > 1e-3; ) {
    let isBetter = false;
    for (let k = 0; k < start.length; k++) {
      for (const side of [step, -step]) {
        const next = scale.bounded(at.map((old, i) => (i === k ? old + side : old)));
        if (next[k] === at[k]) continue;
        const found = f(next);
        if (!(found > best)) continue;
        best = found;
        at = next;
        isBetter = true;
        break;
      }
    }
    if (!isBetter) step /= 3;
  }
  return best;
}
