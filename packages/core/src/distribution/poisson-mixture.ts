import { refuseUnconverged } from './domain.ts';
import { logGammaKernel } from './log-kernel.ts';

const MAX_STEPS = 2_000_000;
const NEGLIGIBLE = 1e-17;
const LARGE = 1e100;
/** A Poisson mean this small leaves only j = 0. */
const NO_WEIGHT = 1e-80;
const LOG_LARGE = 100 * Math.LN10;

/**
 * A family of tails indexed by j = 0, 1, … whose lower tails fall with j by a known step:
 * L(j) − L(j + 1) = e(j) > 0. Chi-squared with df + 2j and beta with (a + j, b) are such families.
 */
export interface TailLadder {
  /** ln L(j). */
  readonly logLower: (j: number) => number;
  /** ln(1 − L(j)). */
  readonly logUpper: (j: number) => number;
  /** ln e(j). */
  readonly logStep: (j: number) => number;
  /** e(j + 1)/e(j). */
  readonly stepRatio: (j: number) => number;
}

/**
 * ln Σ w(j) L(j) with Poisson weights w of the given mean.
 *
 * Walks from the top of the weights downwards, where L(j) = L(j + 1) + e(j) only ever adds: every
 * term is positive, so even a tail of 1e-300 keeps its digits. Terms above the start are below
 * 1e-17 of the sum because L falls with j.
 *
 * @param mean - Poisson mean, above zero and finite
 */
export function logMixtureLower(mean: number, ladder: TailLadder): number {
  if (mean < NO_WEIGHT) return ladder.logLower(0);
  const top = highestIndex(mean);
  const logTail = ladder.logLower(top);
  const run = startRun(logTail, logPoissonWeight(top, mean));
  let step = Math.exp(ladder.logStep(top - 1) - logTail);
  for (let j = top - 1; j >= 0; j--) {
    run.tail += step;
    run.weight *= (j + 1) / mean;
    if (hasSettled(run) && j < mean) break;
    if (j > 0) step /= ladder.stepRatio(j - 1);
    step *= rescaled(run);
  }
  return run.logUnit + Math.log(run.sum);
}

/** ln Σ w(j) (1 − L(j)), walking upwards from the foot of the weights; see {@link logMixtureLower}. */
export function logMixtureUpper(mean: number, ladder: TailLadder): number {
  if (mean < NO_WEIGHT) return ladder.logUpper(0);
  const foot = lowestIndex(mean);
  const logTail = ladder.logUpper(foot);
  const run = startRun(logTail, logPoissonWeight(foot, mean));
  let step = Math.exp(ladder.logStep(foot) - logTail);
  for (let j = foot + 1; j < foot + MAX_STEPS; j++) {
    run.tail += step;
    run.weight *= mean / j;
    if (hasSettled(run) && j > mean) return run.logUnit + Math.log(run.sum);
    step *= ladder.stepRatio(j - 1);
    step *= rescaled(run);
  }
  return refuseUnconverged('noncentral upper tail', { mean });
}

/** A sum under way, in units of exp(logUnit); tail and weight carry their own parts of that unit. */
interface Run {
  tail: number;
  weight: number;
  sum: number;
  previous: number;
  logUnit: number;
}

function startRun(logTail: number, logWeight: number): Run {
  return { tail: 1, weight: 1, sum: 1, previous: 1, logUnit: logTail + logWeight };
}

/** Adds the present term; true once terms fall and no longer matter (they are log-concave in j). */
function hasSettled(run: Run): boolean {
  const term = run.weight * run.tail;
  run.sum += term;
  const isOver = term < NEGLIGIBLE * run.sum && term <= run.previous;
  run.previous = term;
  return isOver;
}

/** Moves powers of ten out of tail and weight before they leave the range of doubles; returns the factor put on the tail. */
function rescaled(run: Run): number {
  let factor = 1;
  if (run.tail > LARGE) {
    run.tail /= LARGE;
    run.sum /= LARGE;
    run.previous /= LARGE;
    run.logUnit += LOG_LARGE;
    factor = 1 / LARGE;
  }
  if (run.weight < 1 / LARGE || run.weight > LARGE) {
    const up = run.weight < 1 ? LARGE : 1 / LARGE;
    run.weight *= up;
    run.sum *= up;
    run.previous *= up;
    run.logUnit -= up > 1 ? LOG_LARGE : -LOG_LARGE;
  }
  return factor;
}

/** Above this index the weights sum to less than 1e-18 (Bernstein's bound for the Poisson). */
function highestIndex(mean: number): number {
  return Math.ceil(mean + 9.2 * Math.sqrt(mean) + 45);
}

/** Below this index the weights sum to less than 1e-18 of all. */
function lowestIndex(mean: number): number {
  return Math.max(0, Math.floor(mean - 9.2 * Math.sqrt(mean)));
}

function logPoissonWeight(j: number, mean: number): number {
  return j === 0 ? -mean : logGammaKernel(mean, j) - Math.log(j);
}
