import { binomialUpper } from '../distribution/binomial.ts';
import { mean, presentCount, sampleVariance } from '../measurement/descriptive.ts';
import type { EffectiveSizes } from './capability.ts';
import { c4 } from './chart-constants.ts';
import { type Signal, signals } from './run-rules.ts';

/** One stretch of a spool as a subgroup. */
export interface Subgroup {
  readonly fromIndex: number;
  readonly readings: number;
  readonly mean: number;
  readonly sd: number;
}

/** Whether a spool's process was in control, judged by subgroups of its log. */
export type SubgroupChart =
  | { readonly kind: 'too short'; readonly subgroups: number; readonly says: string }
  | {
      readonly kind: 'in control' | 'not in control';
      readonly subgroups: readonly Subgroup[];
      readonly readingsEach: number;
      /** SD within subgroups, pooled. */
      readonly sdWithin: number;
      readonly effective: EffectiveSizes;
      readonly means: {
        readonly centre: number;
        readonly sigma: number;
        readonly signals: readonly Signal[];
      };
      readonly sds: {
        readonly centre: number;
        readonly sigma: number;
        readonly signals: readonly Signal[];
      };
      readonly says: string;
    };

/** Fewer subgroups than this judge nothing; common practice asks for 20 to 25. */
const fewestSubgroups = 20;
/** A subgroup with fewer present readings than this share of its size is left out. */
const leastPresent = 0.5;
/** Chance of a point beyond three sigma in a process in control, both sides. */
const beyondChance = 0.0027;
/** More points outside than chance explains at this level: not in control. */
const significance = 0.01;

/**
 * Judges control by the means and SDs of consecutive subgroups. Readings within a subgroup repeat one
 * another, so the limits use how many independent readings a subgroup is worth, for its mean and for its
 * variance, learned from the readings inside subgroups.
 *
 * A long spool has many subgroups, and one in 370 means of a sound process lies outside by chance: the
 * process is called out of control when more lie outside than chance explains (1 %), or when eight means
 * in a row lie on one side more often than chance explains.
 *
 * @param x - evenly spaced readings, NaN where missing
 * @param readingsEach - readings in a subgroup; at least one period of the puller loop
 * @source NIST/SEMATECH e-Handbook 6.3.2.1 (limits of means and SDs); ISO 22514-2 asks for a process in
 *   control before capability is quoted (both from memory)
 */
export function subgroupChart(x: Float64Array, readingsEach: number): SubgroupChart {
  const subgroups = subgroupsOf(x, readingsEach);
  if (subgroups.length < fewestSubgroups) {
    const says = `${subgroups.length} subgroups of ${readingsEach} readings; at least ${fewestSubgroups} are needed to judge control.`;
    return { kind: 'too short', subgroups: subgroups.length, says };
  }
  const within = withinVariation(x, subgroups, readingsEach);
  const centre = subgroups.reduce((sum, one) => sum + one.mean, 0) / subgroups.length;
  const meanSd = subgroups.reduce((sum, { sd }) => sum + sd, 0) / subgroups.length;
  const meanChart = { centre, sigma: Math.sqrt(within.meanVariance) };
  const shrink = c4(within.each.forVariance);
  const sdChart = {
    centre: meanSd,
    sigma: (meanSd / shrink) * Math.sqrt(Math.max(1e-12, 1 - shrink * shrink)),
  };
  const means = signals(
    subgroups.map((one) => one.mean),
    meanChart,
    ['one beyond three sigma', 'eight in a row on one side'],
  );
  const sds = signals(
    subgroups.map(({ sd }) => sd),
    sdChart,
    ['one beyond three sigma'],
  );
  const wrong = tooMany(means, sds, subgroups.length);
  return {
    kind: wrong === null ? 'in control' : 'not in control',
    subgroups,
    readingsEach,
    sdWithin: within.sd,
    effective: {
      forMean: subgroups.length * within.each.forMean,
      forVariance: subgroups.length * (within.each.forVariance - 1) + 1,
    },
    means: { ...meanChart, signals: means },
    sds: { ...sdChart, signals: sds },
    says:
      wrong ??
      `Means and SDs of ${subgroups.length} subgroups of ${readingsEach} readings vary as within subgroups.`,
  };
}

function subgroupsOf(x: Float64Array, readingsEach: number): Subgroup[] {
  const out: Subgroup[] = [];
  for (let from = 0; from + readingsEach <= x.length; from += readingsEach) {
    const part = x.subarray(from, from + readingsEach);
    const readings = presentCount(part);
    if (readings < Math.max(2, leastPresent * readingsEach)) continue;
    out.push({ fromIndex: from, readings, mean: mean(part), sd: Math.sqrt(sampleVariance(part)) });
  }
  return out;
}

interface WithinVariation {
  /** SD of a reading about the process as it stands, unbiased by how readings repeat. */
  readonly sd: number;
  /** Variance of a subgroup's mean if nothing but the variation within subgroups acts. */
  readonly meanVariance: number;
  readonly each: EffectiveSizes;
}

/** Lags are summed until this many times the correlation time; after Sokal's window. */
const windowFactor = 5;

/**
 * Variation within subgroups, with what their means took out put back. Taking a subgroup's own mean
 * out lowers every autocovariance c_k by the variance v of that mean, so C_k = c_k + v, and
 * m·v = C_0 + 2 Σ (1 − k/m) C_k gives v = (c_0 + 2 Σ w_k c_k) / (m − 1 − 2 Σ w_k).
 */
function withinVariation(
  x: Float64Array,
  subgroups: readonly Subgroup[],
  m: number,
): WithinVariation {
  const zero = withinCovariance(x, subgroups, m, 0);
  let numerator = zero;
  let denominator = m - 1;
  let v = numerator / denominator;
  const lagged: number[] = [];
  for (let k = 1; k <= m / 3; k++) {
    const weight = 1 - k / m;
    const c = withinCovariance(x, subgroups, m, k);
    lagged.push(c);
    numerator += 2 * weight * c;
    denominator -= 2 * weight;
    v = Math.max(zero / m, numerator) / Math.max(1, denominator);
    if (k >= windowFactor * ((m * v) / (zero + v))) break;
  }
  const variance = zero + v;
  const repeats = lagged.reduce((sum, c) => sum + ((c + v) / variance) ** 2, 0);
  return {
    sd: Math.sqrt(variance),
    meanVariance: v,
    each: {
      forMean: Math.max(1, Math.min(m, variance / v)),
      forVariance: Math.max(2, Math.min(m, m / (1 + 2 * repeats))),
    },
  };
}

/** Mean product of readings `lag` apart inside one subgroup, about its own mean. */
function withinCovariance(
  x: Float64Array,
  subgroups: readonly Subgroup[],
  m: number,
  lag: number,
): number {
  let sum = 0;
  let count = 0;
  for (const { fromIndex, mean: centre } of subgroups) {
    for (let i = fromIndex; i + lag < fromIndex + m; i++) {
      const product = (x[i]! - centre) * (x[i + lag]! - centre);
      if (Number.isNaN(product)) continue;
      sum += product;
      count++;
    }
  }
  return sum / count;
}

function tooMany(
  means: readonly Signal[],
  sds: readonly Signal[],
  subgroups: number,
): string | null {
  const outside = (list: readonly Signal[]): number =>
    list.filter(({ rule }) => rule === 'one beyond three sigma').length;
  const beyond = (count: number): boolean =>
    count > 0 && binomialUpper(count - 1, subgroups, beyondChance) < significance;
  // The limits of the means rest on the SDs, so these are judged first.
  if (beyond(outside(sds)))
    return `${outside(sds)} of ${subgroups} subgroup SDs lie beyond three sigma: the spread changed.`;
  if (beyond(outside(means)))
    return `${outside(means)} of ${subgroups} subgroup means lie beyond three sigma: the mean wandered.`;
  const longRuns = means.filter(({ rule }) => rule === 'eight in a row on one side').length;
  // A run of eight ends at a given point with chance 2/2⁸ in a process in control.
  if (longRuns > 0 && binomialUpper(longRuns - 1, subgroups, 2 / 256) < significance)
    return `Runs of eight subgroup means on one side end at ${longRuns} of ${subgroups} subgroups: the mean drifted.`;
  return null;
}
