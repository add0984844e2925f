import { choleskyInto, choleskyInverse, choleskySolve } from '../linear/cholesky.ts';
import type { Dense } from '../linear/dense.ts';

/** A penalised logistic fit, in the columns it was given. */
export interface FirthFit {
  readonly isConverged: boolean;
  readonly coefficients: Float64Array;
  readonly probability: Float64Array;
  /** Σ ln likelihood + ½ ln det XᵀWX. */
  readonly penalised: number;
  /** (XᵀWX)⁻¹, shape (p, p). */
  readonly inverse: Float64Array;
}

const MAX_STEPS = 200;
/** Longest change of one linear predictor a step may make, in logits. */
const LONGEST_STEP = 5;

/**
 * Logistic model by Firth's penalised likelihood: score Σ(y − π + h(½ − π))x, h the leverages.
 * Estimates are finite even when the outcomes are separated.
 *
 * @param x - independent columns, shape (n, p); well scaled
 * @param passed - 1 or 0, shape (n)
 * @param held - the last column's coefficient kept at this value (a profile); the penalty stays that
 *   of all columns
 * @source Firth (1993), Biometrika 80, 27–38; Heinze & Schemper (2002), Statistics in Medicine 21,
 *   2409–2419 (both from memory; tested against an independent optimisation)
 */
export function firthLogistic(
  x: Dense,
  passed: Uint8Array,
  { held, start }: { readonly held?: number; readonly start?: Float64Array } = {},
): FirthFit {
  const p = x.cols;
  const free = held === undefined ? p : p - 1;
  const from = start?.slice() ?? new Float64Array(p);
  if (held !== undefined) from[p - 1] = held;
  let state = evaluate(x, passed, from);
  // A profile needs its height alone, whose error is the square of the distance left.
  const enough = held === undefined ? 1e-11 : 1e-7;
  let length = free === 0 ? 0 : Number.POSITIVE_INFINITY;
  for (let step = 0; step < MAX_STEPS && length > enough; step++) {
    const score = penalisedScore(x, passed, state);
    const move = scoringStep(state.gram, score, p, free);
    length = Math.sqrt(Math.max(0, dot(move, score)));
    const next = climb(x, passed, state, move);
    if (next === undefined) break;
    state = next;
  }
  return {
    isConverged: length < 1e-5,
    coefficients: state.coefficients,
    probability: state.probability,
    penalised: state.penalised,
    inverse: state.inverse,
  };
}

interface Evaluated {
  readonly coefficients: Float64Array;
  readonly probability: Float64Array;
  readonly penalised: number;
  /** XᵀWX, shape (p, p). */
  readonly gram: Float64Array;
  readonly inverse: Float64Array;
}

function evaluate(x: Dense, passed: Uint8Array, coefficients: Float64Array): Evaluated {
  const { rows: n, cols: p, data } = x;
  const probability = new Float64Array(n);
  const gram = new Float64Array(p * p);
  let penalised = 0;
  for (let i = 0; i < n; i++) {
    let eta = 0;
    for (let j = 0; j < p; j++) eta += data[i * p + j]! * coefficients[j]!;
    const small = Math.exp(-Math.abs(eta));
    probability[i] = eta > 0 ? 1 / (1 + small) : small / (1 + small);
    penalised -= Math.log1p(small) + (passed[i] ? Math.max(0, -eta) : Math.max(0, eta));
    // π(1 − π) without cancellation at either end.
    const weight = small / (1 + small) ** 2;
    for (let j = 0; j < p; j++) {
      const wx = weight * data[i * p + j]!;
      for (let k = 0; k <= j; k++) gram[j * p + k]! += wx * data[i * p + k]!;
    }
  }
  for (let j = 0; j < p; j++) for (let k = 0; k < j; k++) gram[k * p + j] = gram[j * p + k]!;
  const lower = gram.slice();
  if (choleskyInto(lower, p) >= 0) {
    const inverse = new Float64Array(p * p).fill(Number.POSITIVE_INFINITY);
    return { coefficients, probability, penalised: Number.NEGATIVE_INFINITY, gram, inverse };
  }
  for (let j = 0; j < p; j++) penalised += Math.log(lower[j * p + j]!);
  return { coefficients, probability, penalised, gram, inverse: choleskyInverse(lower, p) };
}

function penalisedScore(x: Dense, passed: Uint8Array, { probability, inverse }: Evaluated) {
  const { rows: n, cols: p, data } = x;
  const score = new Float64Array(p);
  for (let i = 0; i < n; i++) {
    const pi = probability[i]!;
    let h = 0;
    for (let j = 0; j < p; j++) {
      const xj = data[i * p + j]!;
      let below = 0;
      for (let k = 0; k < j; k++) below += inverse[j * p + k]! * data[i * p + k]!;
      h += xj * (2 * below + inverse[j * p + j]! * xj);
    }
    const pull = passed[i]! - pi + h * pi * (1 - pi) * (0.5 - pi);
    for (let j = 0; j < p; j++) score[j]! += pull * data[i * p + j]!;
  }
  return score;
}

/** Information⁻¹·score over the free columns, 0 for a held one. */
function scoringStep(gram: Float64Array, score: Float64Array, p: number, free: number) {
  const part = new Float64Array(free * free);
  for (let i = 0; i < free; i++)
    for (let j = 0; j < free; j++) part[i * free + j] = gram[i * p + j]!;
  const move = new Float64Array(p);
  if (choleskyInto(part, free) >= 0) return move;
  move.set(choleskySolve(part, free, score.slice(0, free)));
  return move;
}

function climb(x: Dense, passed: Uint8Array, state: Evaluated, move: Float64Array) {
  let longest = 0;
  for (let i = 0; i < x.rows; i++) {
    let change = 0;
    for (let j = 0; j < x.cols; j++) change += x.data[i * x.cols + j]! * move[j]!;
    longest = Math.max(longest, Math.abs(change));
  }
  let share = longest > LONGEST_STEP ? LONGEST_STEP / longest : 1;
  const slack = 1e-13 * (1 + Math.abs(state.penalised));
  for (; share > 1e-8; share /= 2) {
    const next = evaluate(
      x,
      passed,
      state.coefficients.map((value, j) => value + share * move[j]!),
    );
    if (next.penalised >= state.penalised - slack) return next;
  }
  return undefined;
}

function dot(a: Float64Array, b: Float64Array): number {
  let s = 0;
  for (let i = 0; i < a.length; i++) s += a[i]! * b[i]!;
  return s;
}
