import { choleskyInto, choleskyInverse, choleskySolve } from '../linear/cholesky.ts';
import type { Dense } from '../linear/dense.ts';
import { type QrFactor, qrFactor, thinQ, upperFactor } from '../linear/qr.ts';
import { upperInverse } from '../linear/triangular.ts';
import { type Aliased, aliasedOutcome } from './aliased.ts';

/** Columns of a model made orthonormal, so that the normal equations keep their digits. */
export interface OrthonormalColumns {
  readonly kind: 'full-rank';
  /** Shape (n, p). */
  readonly basis: Dense;
  /** Basis coefficients to term coefficients, shape (p, p), upper triangular. */
  readonly back: Dense;
}

export function orthonormalColumns(x: Dense): OrthonormalColumns | Aliased {
  const factor = qrFactor(x);
  if (factor.rank < x.cols) return aliasedOutcome(factor);
  return { kind: 'full-rank', basis: basisOf(factor), back: backOf(factor) };
}

function basisOf(factor: QrFactor): Dense {
  const { rows: n, rank: p } = factor;
  const q = thinQ(factor);
  const data = new Float64Array(n * p);
  for (let j = 0; j < p; j++) for (let i = 0; i < n; i++) data[i * p + j] = q[j * n + i]!;
  return { rows: n, cols: p, data };
}

function backOf(factor: QrFactor): Dense {
  const p = factor.rank;
  const back = upperInverse(upperFactor(factor));
  for (let j = 0; j < p; j++) for (let k = 0; k < p; k++) back.data[j * p + k]! /= factor.scale[j]!;
  return back;
}

/** Data of a log-linear model: mean = exp(Qb + offset). */
export interface LogLinearData {
  readonly basis: Dense;
  readonly counts: Float64Array;
  /** ln exposure, shape (n). */
  readonly offset: Float64Array;
  /** Negative binomial size; Infinity is Poisson. */
  readonly theta: number;
}

/** A log-linear model at the end of its iterations. */
export interface LogLinearFit {
  /** False when terms run off or the steps gave out. */
  readonly isConverged: boolean;
  readonly coefficients: Float64Array;
  readonly mean: Float64Array;
  readonly deviance: number;
  /** (QᵀWQ)⁻¹, shape (p, p). */
  readonly inverse: Float64Array;
  /** Diagonal of W^½Q(QᵀWQ)⁻¹QᵀW^½, shape (n). */
  readonly leverages: Float64Array;
  /** The last step, in which direction terms run off when not converged; shape (p). */
  readonly lastStep: Float64Array;
}

const MAX_STEPS = 60;

/**
 * Log-linear model by iteratively reweighted least squares, steps halved until the deviance falls.
 *
 * @param start - basis coefficients to begin with; by default one step from the counts themselves
 * @param isPenalised - adds half the leverages to the counts (Firth), which keeps estimates finite
 * @accuracy coefficients to about 1e-12 relative to their errors: iterated until steps vanish
 * @source McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 2.5; Firth (1993),
 *   Biometrika 80, 27–38 (both from memory)
 */
export function fitLogLinear(
  data: LogLinearData,
  { start, isPenalised = false }: { start?: Float64Array; isPenalised?: boolean } = {},
): LogLinearFit {
  const p = data.basis.cols;
  let state = evaluate(data, start ?? startingPoint(data));
  let lastStep: Float64Array = new Float64Array(p);
  let length = Number.POSITIVE_INFINITY;
  for (let step = 0; step < (isPenalised ? 500 : MAX_STEPS); step++) {
    const solved = solve(data, state.mean, isPenalised);
    if (solved === undefined) break;
    lastStep = solved.step;
    // Information-scaled: in units of the standard errors.
    length = solved.length;
    if (length < 1e-11) break;
    const next = isPenalised
      ? evaluate(data, moved(state.coefficients, lastStep, Math.min(1, 2 / length)))
      : halved(data, state, lastStep);
    if (next === undefined) break;
    state = next;
  }
  const { inverse, leverages } = information(data, state.mean) ?? {
    inverse: new Float64Array(p * p).fill(Number.POSITIVE_INFINITY),
    leverages: new Float64Array(data.counts.length),
  };
  // Rounding may stop the steps short of vanishing; a millionth of a standard error will do.
  return { isConverged: length < 1e-6, ...state, inverse, leverages, lastStep };
}

interface Evaluated {
  readonly coefficients: Float64Array;
  readonly mean: Float64Array;
  readonly deviance: number;
}

/** Least squares of ln((count + 0.1)/exposure) weighted by the counts: near enough to start from. */
function startingPoint({ basis, counts, offset }: LogLinearData): Float64Array {
  const { rows: n, cols: p, data: q } = basis;
  const gram = new Float64Array(p * p);
  const side = new Float64Array(p);
  for (let i = 0; i < n; i++) {
    const raised = counts[i]! + 0.1;
    const target = Math.log(raised) - offset[i]!;
    addRowInto(gram, side, q, i * p, raised, raised * target);
  }
  if (choleskyInto(gram, p) >= 0) return new Float64Array(p);
  return choleskySolve(gram, p, side);
}

function addRowInto(
  gram: Float64Array,
  side: Float64Array,
  q: Float64Array,
  from: number,
  weight: number,
  pull: number,
): void {
  const p = side.length;
  for (let j = 0; j < p; j++) {
    const qij = q[from + j]!;
    side[j]! += pull * qij;
    const wq = weight * qij;
    for (let k = 0; k <= j; k++) gram[j * p + k]! += wq * q[from + k]!;
  }
}

function evaluate(data: LogLinearData, coefficients: Float64Array): Evaluated {
  const { basis, counts, offset, theta } = data;
  const { rows: n, cols: p, data: q } = basis;
  const mean = new Float64Array(n);
  let deviance = 0;
  for (let i = 0; i < n; i++) {
    let eta = offset[i]!;
    for (let j = 0; j < p; j++) eta += q[i * p + j]! * coefficients[j]!;
    mean[i] = Math.exp(eta);
    deviance += unitDeviance(counts[i]!, mean[i]!, theta);
  }
  return { coefficients, mean, deviance };
}

/** Contribution of one count to the deviance; θ Infinity is Poisson. */
export function unitDeviance(y: number, mean: number, theta: number): number {
  const own = y === 0 ? 0 : y * Math.log(y / mean);
  if (theta === Number.POSITIVE_INFINITY) return Math.max(0, 2 * (own - (y - mean)));
  return Math.max(0, 2 * (own - (y + theta) * Math.log1p((y - mean) / (mean + theta))));
}

function weightOf(mean: number, theta: number): number {
  return theta === Number.POSITIVE_INFINITY ? mean : mean / (1 + mean / theta);
}

function information({ basis, theta }: LogLinearData, mean: Float64Array) {
  const { rows: n, cols: p, data: q } = basis;
  const gram = new Float64Array(p * p);
  const unused = new Float64Array(p);
  for (let i = 0; i < n; i++) addRowInto(gram, unused, q, i * p, weightOf(mean[i]!, theta), 0);
  if (choleskyInto(gram, p) >= 0) return undefined;
  const inverse = choleskyInverse(gram, p);
  const leverages = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let h = 0;
    for (let j = 0; j < p; j++) {
      let s = 0;
      for (let k = 0; k < p; k++) s += inverse[j * p + k]! * q[i * p + k]!;
      h += s * q[i * p + j]!;
    }
    leverages[i] = h * weightOf(mean[i]!, theta);
  }
  return { gram, inverse, leverages };
}

/** Scoring step and its length in units of standard errors; undefined when the weights vanish. */
function solve(data: LogLinearData, mean: Float64Array, isPenalised: boolean) {
  const { basis, counts, theta } = data;
  const { rows: n, cols: p, data: q } = basis;
  const info = information(data, mean);
  if (info === undefined) return undefined;
  const score = new Float64Array(p);
  for (let i = 0; i < n; i++) {
    const y = counts[i]! + (isPenalised ? info.leverages[i]! / 2 : 0);
    const pull =
      theta === Number.POSITIVE_INFINITY ? y - mean[i]! : (y - mean[i]!) / (1 + mean[i]! / theta);
    for (let j = 0; j < p; j++) score[j]! += pull * q[i * p + j]!;
  }
  const step = choleskySolve(info.gram, p, score);
  let squared = 0;
  for (let j = 0; j < p; j++) squared += step[j]! * score[j]!;
  return { step, length: Math.sqrt(Math.max(0, squared)) };
}

function moved(from: Float64Array, step: Float64Array, share: number): Float64Array {
  return from.map((value, j) => value + share * step[j]!);
}

function halved(data: LogLinearData, state: Evaluated, step: Float64Array): Evaluated | undefined {
  const slack = 1e-13 * (1 + state.deviance);
  for (let share = 1; share > 1e-6; share /= 2) {
    const next = evaluate(data, moved(state.coefficients, step, share));
    if (next.deviance <= state.deviance + slack) return next;
  }
  return undefined;
}
