import { cholesky, choleskyInverse } from '../linear/cholesky.ts';
import type { RemlState } from './reml.ts';

/** Traces and quadratic forms of P = V⁻¹ − V⁻¹QΦQᵀV⁻¹ with each stratum's G = ZZᵀ. */
export interface RemlMoments {
  /** tr(P G_k), shape (q). */
  readonly traces: Float64Array;
  /** tr(P G_k P G_l), shape (q, q). */
  readonly pairTraces: Float64Array;
  /** eᵀP G_k P e, shape (q). */
  readonly pulls: Float64Array;
  /** eᵀP G_k P G_l P e, shape (q, q). */
  readonly pairPulls: Float64Array;
}

export function remlMoments({ plots, projected }: RemlState): RemlMoments {
  const q = plots.length;
  const traces = new Float64Array(q);
  const pairTraces = new Float64Array(q * q);
  const pulls = new Float64Array(q);
  const pairPulls = new Float64Array(q * q);
  for (let k = 0; k < q; k++) {
    const { count, pull } = plots[k]!;
    for (let g = 0; g < count; g++) {
      traces[k]! += projected[k]![k]![g * count + g]!;
      pulls[k]! += pull[g]! * pull[g]!;
    }
    for (let l = 0; l < q; l++) {
      const block = projected[k]![l]!;
      const other = plots[l]!;
      let squares = 0;
      let pulled = 0;
      for (let g = 0; g < count; g++) {
        let s = 0;
        for (let h = 0; h < other.count; h++) {
          const value = block[g * other.count + h]!;
          squares += value * value;
          s += value * other.pull[h]!;
        }
        pulled += pull[g]! * s;
      }
      pairTraces[k * q + l] = squares;
      pairPulls[k * q + l] = pulled;
    }
  }
  return { traces, pairTraces, pulls, pairPulls };
}

/**
 * Gradient and Hessian of the profiled criterion in the ratios.
 *
 * dF/dr_k = tr(PG_k) − ν·eᵀPG_kPe / eᵀPe, and once more with dP/dr = −PGP.
 */
export function criterionSlope(state: RemlState, moments: RemlMoments) {
  const q = state.plots.length;
  const df = state.data.rows - state.data.cols;
  const { traces, pairTraces, pulls, pairPulls } = moments;
  const gradient = new Float64Array(q);
  const hessian = new Float64Array(q * q);
  for (let k = 0; k < q; k++) {
    gradient[k] = traces[k]! - (df * pulls[k]!) / state.squares;
    for (let l = 0; l < q; l++) {
      const at = k * q + l;
      hessian[at] =
        -pairTraces[at]! +
        (df / state.squares) * (2 * pairPulls[at]! - (pulls[k]! * pulls[l]!) / state.squares);
    }
  }
  return { gradient, hessian };
}

/** Covariances of the variance estimates (residual, then strata) over the residual variance squared. */
export interface VarianceCovariance {
  /** Twice the inverse of tr(PG_iPG_j), shape (q + 1, q + 1); undefined when singular. */
  readonly expected: Float64Array | undefined;
  /** From the observed information; rows of strata at zero are 0; `expected` when not definite. */
  readonly observed: Float64Array | undefined;
}

/**
 * Covariance matrices of the variance components by expected and by observed information.
 *
 * The residual component has G = I = V − Σ r_k G_k and PVP = P, so its traces follow from the others.
 */
export function varianceCovariance(state: RemlState): VarianceCovariance {
  const q = state.plots.length;
  const df = state.data.rows - state.data.cols;
  const variance = state.squares / df;
  const m = remlMoments(state);
  const traces = bordered(df, m.traces, m.pairTraces, state.ratios);
  const pulls = bordered(state.squares, m.pulls, m.pairPulls, state.ratios);
  const expected = traces.map((value) => value / 2);
  const observed = traces.map((value, at) => pulls[at]! / variance - value / 2);
  const free = [0];
  for (let k = 0; k < q; k++) if (state.ratios[k]! > 0) free.push(k + 1);
  const all = Array.from({ length: q + 1 }, (_, k) => k);
  const ofExpected = inverseOf(expected, q + 1, all);
  return {
    expected: ofExpected,
    observed: inverseOf(observed, q + 1, free) ?? inverseOf(expected, q + 1, free),
  };
}

/** Adds row and column of the residual component to sums over P G_k and P G_k P G_l. */
function bordered(
  whole: number,
  single: Float64Array,
  pairs: Float64Array,
  ratios: Float64Array,
): Float64Array {
  const q = single.length;
  const out = new Float64Array((q + 1) ** 2);
  let corner = whole;
  for (let k = 0; k < q; k++) {
    let edge = single[k]!;
    for (let l = 0; l < q; l++) {
      edge -= ratios[l]! * pairs[k * q + l]!;
      out[(k + 1) * (q + 1) + l + 1] = pairs[k * q + l]!;
    }
    out[k + 1] = edge;
    out[(k + 1) * (q + 1)] = edge;
    corner -= ratios[k]! * (single[k]! + edge);
  }
  out[0] = corner;
  return out;
}

/** Inverse of the chosen rows and columns, the others zero; undefined when not definite. */
function inverseOf(
  matrix: Float64Array,
  n: number,
  chosen: readonly number[],
): Float64Array | undefined {
  const k = chosen.length;
  const part = Float64Array.from(
    { length: k * k },
    (_, at) => matrix[chosen[Math.floor(at / k)]! * n + chosen[at % k]!]!,
  );
  const factor = cholesky(part, k);
  if (factor.kind !== 'factored') return undefined;
  const inverse = choleskyInverse(factor.lower, k);
  const out = new Float64Array(n * n);
  for (let i = 0; i < k; i++)
    for (let j = 0; j < k; j++) out[chosen[i]! * n + chosen[j]!] = inverse[i * k + j]!;
  return out;
}
