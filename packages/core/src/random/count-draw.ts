import { binomialLogDensity } from '../distribution/binomial.ts';
import {
  requireFiniteNonNegative,
  requireFinitePositive,
  requireProbability,
  requireWhole,
} from '../distribution/domain.ts';
import { poissonLogDensity } from '../distribution/poisson.ts';
import { gammaDraw } from './gamma-draw.ts';
import type { Uniform } from './uniform.ts';

/** Below this mean a draw walks up the distribution function; above it, rejection is quicker. */
const WALK_BELOW = 10;

/** Whether an event of the given chance happened: one number from the source. */
export function bernoulliDraw(share: number, uniform: Uniform): boolean {
  requireProbability('bernoulliDraw', 'share', share);
  return uniform() < share;
}

/**
 * One Poisson draw.
 *
 * @param mean - finite, at least zero
 * @throws {DomainError} `out_of_domain` otherwise
 * @source Hörmann (1993), The transformed rejection method for generating Poisson random variables,
 *   Insurance: Mathematics and Economics 12, 39-45 (algorithm PTRS; constants from memory, the law is
 *   tested against the exact probabilities)
 */
export function poissonDraw(mean: number, uniform: Uniform): number {
  requireFiniteNonNegative('poissonDraw', 'mean', mean);
  if (mean < WALK_BELOW) return walkedPoisson(mean, uniform);
  const b = 0.931 + 2.53 * Math.sqrt(mean);
  const hat: Hat = {
    a: -0.059 + 0.02483 * b,
    b,
    centre: mean + 0.43,
    squeeze: 0.9277 - 3.6224 / (b - 2),
    most: Number.POSITIVE_INFINITY,
    logAccept: (v, spread, k) =>
      Math.log((v * (1.1239 + 1.1328 / (b - 3.4))) / spread) <= poissonLogDensity(k, mean),
  };
  return rejectedCount(hat, uniform);
}

function walkedPoisson(mean: number, uniform: Uniform): number {
  let remaining = uniform();
  let chance = Math.exp(-mean);
  let count = 0;
  // The chances sum to 1 only to rounding, so the walk ends where they stop to matter.
  while (remaining >= chance && (chance > 1e-18 || count < mean)) {
    remaining -= chance;
    count += 1;
    chance *= mean / count;
  }
  return count;
}

/**
 * One draw of the number of events in `trials` trials.
 *
 * @param trials - whole, at least 1
 * @param share - chance of one trial, in [0, 1]
 * @throws {DomainError} `out_of_domain` otherwise
 * @source Hörmann (1993), The generation of binomial random variates, J. Stat. Comput. Simul. 46,
 *   101-110 (algorithm BTRS; constants from memory, the law is tested against the exact probabilities)
 */
export function binomialDraw(trials: number, share: number, uniform: Uniform): number {
  requireWhole('binomialDraw', 'number of trials', { value: trials, least: 1 });
  requireProbability('binomialDraw', 'share', share);
  if (share > 0.5) return trials - binomialDraw(trials, 1 - share, uniform);
  if (trials * share < WALK_BELOW) return walkedBinomial(trials, share, uniform);
  const root = Math.sqrt(trials * share * (1 - share));
  const b = 1.15 + 2.53 * root;
  const mode = Math.floor((trials + 1) * share);
  const logTop = binomialLogDensity(mode, trials, share);
  const hat: Hat = {
    a: -0.0873 + 0.0248 * b + 0.01 * share,
    b,
    centre: trials * share + 0.5,
    squeeze: 0.92 - 4.2 / b,
    most: trials,
    logAccept: (v, spread, k) =>
      Math.log((v * (2.83 + 5.1 / b) * root) / spread) <=
      binomialLogDensity(k, trials, share) - logTop,
  };
  return rejectedCount(hat, uniform);
}

function walkedBinomial(trials: number, share: number, uniform: Uniform): number {
  let remaining = uniform();
  let chance = Math.exp(trials * Math.log1p(-share));
  let count = 0;
  while (remaining >= chance && count < trials && (chance > 1e-18 || count < trials * share)) {
    remaining -= chance;
    count += 1;
    chance *= ((trials - count + 1) / count) * (share / (1 - share));
  }
  return count;
}

/** The hat of a transformed rejection: k = ⌊(2a/(½ − |u|) + b)·u + centre⌋. */
interface Hat {
  readonly a: number;
  readonly b: number;
  readonly centre: number;
  readonly squeeze: number;
  readonly most: number;
  readonly logAccept: (v: number, spread: number, k: number) => boolean;
}

function rejectedCount({ a, b, centre, squeeze, most, logAccept }: Hat, uniform: Uniform): number {
  for (;;) {
    const u = uniform() - 0.5;
    const v = uniform();
    const edge = 0.5 - Math.abs(u);
    if (edge === 0) continue;
    const k = Math.floor(((2 * a) / edge + b) * u + centre);
    if (edge >= 0.07 && v <= squeeze) return k;
    if (k < 0 || k > most) continue;
    if (logAccept(v, a / (edge * edge) + b, k)) return k;
  }
}

/** Mean and size θ of a negative binomial count: variance mean + mean²/size. */
export interface OverdispersedCount {
  /** Finite, at least zero. */
  readonly mean: number;
  /** θ, finite and above zero; large is nearly Poisson. */
  readonly size: number;
}

/**
 * One negative binomial draw: a Poisson draw whose mean is itself gamma distributed.
 *
 * @throws {DomainError} `out_of_domain` when mean or size is outside its range
 */
export function negativeBinomialDraw({ mean, size }: OverdispersedCount, uniform: Uniform): number {
  requireFiniteNonNegative('negativeBinomialDraw', 'mean', mean);
  requireFinitePositive('negativeBinomialDraw', 'size', size);
  return poissonDraw((gammaDraw(size, uniform) / size) * mean, uniform);
}
