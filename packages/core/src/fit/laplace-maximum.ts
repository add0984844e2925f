import { cholesky, choleskySolve } from '../linear/cholesky.ts';
import { type LaplaceData, laplacePoint } from './laplace-poisson.ts';

const MAX_STEPS = 100;

/** Where Laplace's likelihood is highest. */
export interface LaplaceMaximum {
  /** Basis coefficients, then the standard deviation; shape (p + 1). */
  readonly at: Float64Array;
  /** Curvature of −ln likelihood, over the p coefficients alone at zero. */
  readonly curvature: Float64Array;
}

/** Newton on −ln likelihood from the plain fit; the standard deviation starts at a moment guess. */
export function laplaceMaximum(data: LaplaceData, start: Float64Array): LaplaceMaximum {
  const p = start.length;
  let at = Float64Array.of(...start, 0.3);
  let value = laplacePoint(data, at).logLikelihood;
  for (let step = 0; step < MAX_STEPS; step++) {
    const { slope } = laplacePoint(data, at);
    const move = newtonMove(curvatureAt(data, at, p + 1), slope);
    let share = 1;
    let next = at;
    let nextValue = Number.NEGATIVE_INFINITY;
    for (; share > 1e-8; share /= 2) {
      next = at.map((v, j) => v + share * move[j]!);
      next[p] = Math.abs(next[p]!);
      nextValue = laplacePoint(data, next).logLikelihood;
      if (nextValue >= value - 1e-13 * Math.abs(value)) break;
    }
    if (!(share > 1e-8)) break;
    const size = move.reduce((s, m, j) => s + Math.abs(share * m * slope[j]!), 0);
    at = next;
    value = nextValue;
    if (size < 1e-16 || at[p]! < 1e-5) break;
  }
  // A hair above zero is zero: the likelihood is even in the standard deviation and flat there.
  if (at[p]! < 1e-4)
    return {
      at: Float64Array.of(...start, 0),
      curvature: curvatureAt(data, Float64Array.of(...start, 0), p),
    };
  return { at, curvature: curvatureAt(data, at, p + 1) };
}

/** −second derivatives by central differences of the exact slopes, over the first k parameters. */
function curvatureAt(data: LaplaceData, at: Float64Array, k: number): Float64Array {
  const out = new Float64Array(k * k);
  for (let j = 0; j < k; j++) {
    const h = 1e-5 * Math.max(1, Math.abs(at[j]!));
    const up = at.slice();
    const down = at.slice();
    up[j]! += h;
    down[j]! -= h;
    const above = laplacePoint(data, up).slope;
    const below = laplacePoint(data, down).slope;
    for (let i = 0; i < k; i++) out[i * k + j] = -(above[i]! - below[i]!) / (2 * h);
  }
  for (let i = 0; i < k; i++) {
    for (let j = 0; j < i; j++) {
      const middle = (out[i * k + j]! + out[j * k + i]!) / 2;
      out[i * k + j] = middle;
      out[j * k + i] = middle;
    }
  }
  return out;
}

/** Curvature⁻¹·slope, the curvature lifted until it is definite. */
function newtonMove(curvature: Float64Array, slope: Float64Array): Float64Array {
  const k = slope.length;
  for (let lift = 0; ; lift = lift === 0 ? 1e-3 : lift * 10) {
    const lifted = curvature.slice();
    for (let j = 0; j < k; j++) lifted[j * k + j]! += lift * (1 + Math.abs(curvature[j * k + j]!));
    const factor = cholesky(lifted, k);
    if (factor.kind === 'factored') return choleskySolve(factor.lower, k, slope);
  }
}
