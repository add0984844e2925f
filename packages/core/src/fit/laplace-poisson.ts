import type { Dense } from '../linear/dense.ts';

/** Counts in plots: mean = exp(Qb + offset + s·u of the plot), u standard normal. */
export interface LaplaceData {
  readonly basis: Dense;
  readonly counts: Float64Array;
  readonly offset: Float64Array;
  /** Plot of each row, 0 to plotCount − 1. */
  readonly plots: Int32Array;
  readonly plotCount: number;
}

/** Laplace's log likelihood (without Σ ln count!) and its exact slopes at one point. */
export interface LaplacePoint {
  readonly logLikelihood: number;
  /** Slopes in the p coefficients and in s, shape (p + 1). */
  readonly slope: Float64Array;
  /** s·u at the mode, shape (plotCount). */
  readonly effects: Float64Array;
  readonly mean: Float64Array;
}

/**
 * Laplace's approximation, plot by plot: at the mode u of Σ(yη − e^η) − u²/2, with S = Σ mean,
 * ln L = Σ(yη − mean) − u²/2 − ½ ln(1 + s²S). The mode's slopes du = −(s Σ mean·dη)/(1 + s²S), and
 * likewise in s, give the exact slope of the last term; those of the others vanish at the mode.
 *
 * @param at - basis coefficients and s, shape (p + 1)
 */
export function laplacePoint(data: LaplaceData, at: Float64Array): LaplacePoint {
  const { basis, counts, plots, plotCount } = data;
  const { rows: n, cols: p, data: q } = basis;
  const s = at[p]!;
  const fixed = fixedPart(data, at);
  const u = modes(data, fixed, s);
  const mean = new Float64Array(n);
  const total = new Float64Array(plotCount);
  const left = new Float64Array(plotCount);
  const weighted = new Float64Array(plotCount * p);
  let value = 0;
  for (let i = 0; i < n; i++) {
    const g = plots[i]!;
    const eta = fixed[i]! + s * u[g]!;
    const m = Math.exp(eta);
    mean[i] = m;
    total[g]! += m;
    left[g]! += counts[i]! - m;
    for (let j = 0; j < p; j++) weighted[g * p + j]! += m * q[i * p + j]!;
    value += counts[i]! * eta - m;
  }
  const slope = new Float64Array(p + 1);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < p; j++) slope[j]! += (counts[i]! - mean[i]!) * q[i * p + j]!;
  for (let g = 0; g < plotCount; g++) {
    const S = total[g]!;
    const spread = 1 + s * s * S;
    value -= (u[g]! * u[g]!) / 2 + Math.log(spread) / 2;
    const half = (s * s) / (2 * spread);
    for (let j = 0; j < p; j++) {
      const du = (-s * weighted[g * p + j]!) / spread;
      slope[j]! -= half * (weighted[g * p + j]! + s * S * du);
    }
    // From s·left − u = 0: left + s·d(left)/ds − du = 0 with d(left)/ds = −S(u + s·du).
    const du = (left[g]! - s * S * u[g]!) / spread;
    slope[p]! += u[g]! * left[g]! - (s * S) / spread - half * S * (u[g]! + s * du);
  }
  return { logLikelihood: value, slope, effects: u.map((value) => s * value), mean };
}

function fixedPart({ basis, offset }: LaplaceData, at: Float64Array): Float64Array {
  const { rows: n, cols: p, data: q } = basis;
  const fixed = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let eta = offset[i]!;
    for (let j = 0; j < p; j++) eta += q[i * p + j]! * at[j]!;
    fixed[i] = eta;
  }
  return fixed;
}

/**
 * Mode of each plot: root of s(Y − M e^{su}) − u = 0, with Y the plot's count and M its mean at
 * u = 0. The left side falls with u, so Newton in a bracket cannot fail.
 */
function modes({ counts, plots, plotCount }: LaplaceData, fixed: Float64Array, s: number) {
  const seen = new Float64Array(plotCount);
  const base = new Float64Array(plotCount);
  for (let i = 0; i < counts.length; i++) {
    seen[plots[i]!]! += counts[i]!;
    base[plots[i]!]! += Math.exp(fixed[i]!);
  }
  return base.map((m, g) => {
    let u = 0;
    let [low, high] = bracket(s, seen[g]!, m);
    for (let step = 0; step < 200; step++) {
      const raised = m * Math.exp(s * u);
      const f = s * (seen[g]! - raised) - u;
      if (f > 0) low = u;
      else high = u;
      let next = u + f / (1 + s * s * raised);
      if (!(next >= low && next <= high)) next = (low + high) / 2;
      const move = Math.abs(next - u);
      u = next;
      if (move <= 1e-15 * (1 + Math.abs(u))) break;
    }
    return u;
  });
}

/** At u = 0 the sign tells the side; |u| cannot exceed |s·(Y − M)|. */
function bracket(s: number, seen: number, mean: number): [number, number] {
  const reach = s * (seen - mean);
  return reach > 0 ? [0, reach] : [reach, 0];
}
