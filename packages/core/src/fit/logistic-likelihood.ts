import { choleskyInto, choleskyInverse, choleskySolve } from '../linear/cholesky.ts';
import type { Dense } from '../linear/dense.ts';

/** A logistic model by plain maximum likelihood. */
export interface LogisticLikelihood {
  readonly coefficients: Float64Array;
  /** (XᵀWX)⁻¹ at the estimates, shape (p, p). */
  readonly covariance: Dense;
  readonly logLikelihood: number;
  /** Σ (y − π)² / (π (1 − π)). */
  readonly pearson: number;
}

const MAX_STEPS = 50;
/** Log odds beyond this mean that some outcome is certain: the likelihood has no highest point. */
const LONGEST = 30;

/**
 * Logistic model by maximum likelihood: Newton steps, halved while the likelihood falls.
 *
 * @param x - independent columns, shape (n, p)
 * @param passed - 1 or 0, shape (n)
 * @returns undefined when the outcomes are separated, for then the estimates are infinite
 * @accuracy R 4.2.2 glm, tests/reference/headless-fit.test.ts
 * @source McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., §4.4 (from memory)
 */
export function logisticLikelihood(x: Dense, passed: Float64Array): LogisticLikelihood | undefined {
  let state = evaluated(x, passed, new Float64Array(x.cols));
  for (let step = 0; step < MAX_STEPS; step++) {
    const { lower, score } = state;
    if (!lower || state.longest > LONGEST) return undefined;
    const move = choleskySolve(lower, x.cols, score);
    const gain = move.reduce((sum, value, j) => sum + value * score[j]!, 0);
    if (gain < 1e-20) return finished(x, passed, state);
    const next = climbed(x, passed, state, move);
    if (!next) return gain < 1e-10 ? finished(x, passed, state) : undefined;
    state = next;
  }
  return undefined;
}

interface State {
  readonly coefficients: Float64Array;
  readonly probability: Float64Array;
  readonly logLikelihood: number;
  readonly score: Float64Array;
  /** Factor of XᵀWX; undefined when it is singular. */
  readonly lower: Float64Array | undefined;
  /** Largest log odds. */
  readonly longest: number;
}

function climbed(
  x: Dense,
  passed: Float64Array,
  from: State,
  move: Float64Array,
): State | undefined {
  for (let share = 1; share > 1e-6; share /= 2) {
    const next = evaluated(
      x,
      passed,
      from.coefficients.map((value, j) => value + share * move[j]!),
    );
    if (next.logLikelihood > from.logLikelihood) return next;
  }
  return undefined;
}

function evaluated({ rows, cols: p, data }: Dense, passed: Float64Array, b: Float64Array): State {
  const probability = new Float64Array(rows);
  const score = new Float64Array(p);
  const gram = new Float64Array(p * p);
  let logLikelihood = 0;
  let longest = 0;
  for (let i = 0; i < rows; i++) {
    let odds = 0;
    for (let j = 0; j < p; j++) odds += data[i * p + j]! * b[j]!;
    const signed = passed[i] === 1 ? odds : -odds;
    logLikelihood -=
      signed > 0 ? Math.log1p(Math.exp(-signed)) : Math.log1p(Math.exp(signed)) - signed;
    const pi = 1 / (1 + Math.exp(-odds));
    probability[i] = pi;
    longest = Math.max(longest, Math.abs(odds));
    for (let j = 0; j < p; j++) {
      const xij = data[i * p + j]!;
      score[j]! += xij * (passed[i]! - pi);
      for (let k = 0; k <= j; k++) gram[j * p + k]! += xij * data[i * p + k]! * pi * (1 - pi);
    }
  }
  for (let j = 0; j < p; j++) for (let k = 0; k < j; k++) gram[k * p + j] = gram[j * p + k]!;
  const isFactored = choleskyInto(gram, p) < 0;
  return {
    coefficients: b,
    probability,
    logLikelihood,
    score,
    lower: isFactored ? gram : undefined,
    longest,
  };
}

function finished(x: Dense, passed: Float64Array, state: State): LogisticLikelihood {
  const { coefficients, probability, logLikelihood, lower } = state;
  const pearson = probability.reduce(
    (sum, pi, i) => sum + (passed[i]! - pi) ** 2 / (pi * (1 - pi)),
    0,
  );
  const covariance = { rows: x.cols, cols: x.cols, data: choleskyInverse(lower!, x.cols) };
  return { coefficients, covariance, logLikelihood, pearson };
}
