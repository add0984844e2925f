import { choleskyInto, choleskyInverse } from '../linear/cholesky.ts';
import { type CovarianceView, covarianceView } from './covariance-view.ts';
import { emptyWhitening, type PlotWhitening, whitenInto } from './plot-whitening.ts';
import type { StrataSums } from './strata-sums.ts';

/** A nested model at given variance ratios, in the orthonormal basis of its columns. */
export interface RemlState extends CovarianceView {
  readonly data: StrataSums;
  /** Ratios to the residual variance, outermost first, shape (q). */
  readonly ratios: Float64Array;
  /** −2 ln restricted likelihood, residual variance profiled out, without the model's own constant. */
  readonly criterion: number;
  /** rᵀV⁻¹r. */
  readonly squares: number;
  /** Generalised least-squares coefficients of the residual on the basis, shape (p). */
  readonly coefficients: Float64Array;
}

/** −2 ln restricted likelihood as a function of the ratios; the residual variance is profiled out. */
export interface RemlCriterion {
  /** @returns the criterion, +Infinity where it cannot be computed */
  value(ratios: ArrayLike<number>): number;
  /** ln det V + ln det QᵀV⁻¹Q and rᵀV⁻¹r, from which the likelihood at any residual variance follows. */
  parts(ratios: ArrayLike<number>): { readonly logDeterminants: number; readonly squares: number };
  state(ratios: ArrayLike<number>): RemlState;
}

/**
 * The profiled restricted likelihood of a nested model.
 *
 * −2ℓ(r) = ln det V + ln det QᵀV⁻¹Q + (n − p)·(1 + ln(2π rᵀV⁻¹r / (n − p))).
 *
 * @source Patterson & Thompson (1971), Biometrika 58, 545–554; Harville (1977), JASA 72, 320–338
 *   (both from memory; the value is tested against an independent program)
 */
export function remlCriterion(data: StrataSums): RemlCriterion {
  const { cols: p, rows: n } = data;
  const width = p + 1;
  const white = emptyWhitening(data);
  const df = n - p;
  const parts = (ratios: ArrayLike<number>) => {
    const logV = whitenInto(white, data, ratios[0] ?? 0, ratios[1] ?? 0);
    // One factorisation of the bordered matrix: its last pivot squared is rᵀV⁻¹r.
    const { cross } = white;
    const corner = cross[p * width + p]!;
    const pivot = choleskyInto(cross, width);
    if (pivot >= 0 && pivot < p) return { logDeterminants: Number.NaN, squares: Number.NaN };
    let logX = 0;
    for (let j = 0; j < p; j++) logX += Math.log(cross[j * width + j]!);
    let squares = cross[p * width + p]! ** 2;
    if (pivot === p) {
      squares = corner;
      for (let j = 0; j < p; j++) squares -= cross[p * width + j]! ** 2;
      squares = Math.max(squares, 0);
    }
    return { logDeterminants: logV + 2 * logX, squares };
  };
  const criterionOf = (logDeterminants: number, squares: number) =>
    logDeterminants + df * (1 + Math.log((2 * Math.PI * squares) / df));
  return {
    parts,
    value(ratios) {
      const { logDeterminants, squares } = parts(ratios);
      const value = criterionOf(logDeterminants, squares);
      return Number.isNaN(value) ? Number.POSITIVE_INFINITY : value;
    },
    state(ratios) {
      const { logDeterminants, squares } = parts(ratios);
      const { phi, coefficients } = solution(white, p);
      const own = Float64Array.from({ length: data.strata }, (_, k) => ratios[k] ?? 0);
      return {
        data,
        ratios: own,
        criterion: criterionOf(logDeterminants, squares),
        squares,
        coefficients,
        ...covarianceView(data, own, white, phi, coefficients),
      };
    },
  };
}

/** Φ and the coefficients from the factored bordered matrix. */
function solution({ cross }: PlotWhitening, p: number) {
  const width = p + 1;
  const lower = new Float64Array(p * p);
  const coefficients = cross.slice(p * width, p * width + p);
  for (let i = 0; i < p; i++) for (let j = 0; j <= i; j++) lower[i * p + j] = cross[i * width + j]!;
  for (let i = p - 1; i >= 0; i--) {
    const z = coefficients[i]! / lower[i * p + i]!;
    coefficients[i] = z;
    for (let k = 0; k < i; k++) coefficients[k]! -= lower[i * p + k]! * z;
  }
  return { phi: choleskyInverse(lower, p), coefficients };
}
