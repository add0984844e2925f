import { DomainError } from '../error/domain-error.ts';

/** What is held about one stratum's standard deviation over the residual one before the data. */
export type RatioPrior =
  /** Half-Cauchy: as likely below `scale` as above it; weak. */
  | { readonly kind: 'half-cauchy'; readonly scale: number }
  /** Carried over: median and standard deviation of its logarithm, from an earlier study. */
  | { readonly kind: 'log-normal'; readonly median: number; readonly logSd: number };

/** As likely as not that plots differ by less than one reading's error; common practice. */
export const WEAK_RATIO_PRIOR: RatioPrior = { kind: 'half-cauchy', scale: 1 };

/** Plots held to differ more before the data, to see how much an answer hangs on the prior. */
export const DOUBTFUL_RATIO_PRIOR: RatioPrior = { kind: 'half-cauchy', scale: 3 };

/**
 * ln density of ln(SD ratio).
 *
 * @throws {DomainError} `bad_prior` when a scale, median or spread is not positive
 */
export function logRatioDensity(prior: RatioPrior, logRatio: number): number {
  if (prior.kind === 'half-cauchy') {
    const r = Math.exp(logRatio) / positive(prior.scale, 'scale');
    return Math.log(2 / Math.PI) + Math.log(r) - Math.log1p(r * r);
  }
  const spread = positive(prior.logSd, 'spread');
  const z = (logRatio - Math.log(positive(prior.median, 'median'))) / spread;
  return -0.5 * z * z - Math.log(spread) - 0.5 * Math.log(2 * Math.PI);
}

function positive(value: number, what: string): number {
  if (value > 0 && Number.isFinite(value)) return value;
  throw new DomainError(
    'bad_prior',
    `fitBayesSplitPlot: the ${what} of a prior must be positive; got ${value}. Give it on the scale of the SD ratio.`,
    { what, got: value },
  );
}

/** In words, for the report. */
export function describeRatioPrior(prior: RatioPrior): string {
  return prior.kind === 'half-cauchy'
    ? `half-Cauchy with median ${prior.scale}`
    : `log-normal with median ${prior.median} and log SD ${prior.logSd} (carried over)`;
}
