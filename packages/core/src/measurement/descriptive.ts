import { DomainError } from '../error/domain-error.ts';

/** How many entries are numbers; a missing value is NaN. */
export function presentCount(x: Float64Array): number {
  let n = 0;
  for (let i = 0; i < x.length; i++) if (!Number.isNaN(x[i]!)) n++;
  return n;
}

/**
 * Mean of the present values, summed about the first one so that a large offset costs no digits.
 *
 * @param x - values, NaN where missing; any unit
 * @returns mean; unit of x
 * @throws {DomainError} `too_few_values` when no value is present
 */
export function mean(x: Float64Array): number {
  let origin = Number.NaN;
  let sum = 0;
  let n = 0;
  for (let i = 0; i < x.length; i++) {
    const value = x[i]!;
    if (Number.isNaN(value)) continue;
    if (n === 0) origin = value;
    sum += value - origin;
    n++;
  }
  if (n === 0) throw tooFew('mean', 1, 0);
  return origin + sum / n;
}

/**
 * Sample variance with divisor n − 1, by two passes.
 *
 * @param x - values, NaN where missing; any unit
 * @returns variance; unit of x squared; >= 0
 * @throws {DomainError} `too_few_values` when fewer than two values are present
 */
export function sampleVariance(x: Float64Array): number {
  const n = presentCount(x);
  if (n < 2) throw tooFew('sampleVariance', 2, n);
  const centre = mean(x);
  let squares = 0;
  let rest = 0;
  for (let i = 0; i < x.length; i++) {
    const d = x[i]! - centre;
    if (Number.isNaN(d)) continue;
    squares += d * d;
    rest += d;
  }
  // The second term takes out the rounding of the mean (Chan, Golub & LeVeque 1983, eq. 1.7).
  return Math.max(0, (squares - (rest * rest) / n) / (n - 1));
}

/** Sample standard deviation; see `sampleVariance`. */
export function sampleSd(x: Float64Array): number {
  return Math.sqrt(sampleVariance(x));
}

/**
 * The present values in rising order.
 *
 * @param x - values, NaN where missing
 * @returns a sorted copy, shape (present)
 */
export function sortedPresent(x: Float64Array): Float64Array {
  return x.filter((value) => !Number.isNaN(value)).sort();
}

/**
 * Quantile of sorted values by linear interpolation between order statistics, position (n − 1)p.
 *
 * @param sorted - rising values, shape (n), n >= 1
 * @param p - probability; 0 to 1
 * @throws {DomainError} `too_few_values` when sorted is empty
 */
export function quantileOfSorted(sorted: Float64Array, p: number): number {
  if (sorted.length === 0) throw tooFew('quantileOfSorted', 1, 0);
  const at = Math.min(Math.max(p, 0), 1) * (sorted.length - 1);
  const below = Math.floor(at);
  const low = sorted[below]!;
  const high = sorted[Math.min(below + 1, sorted.length - 1)]!;
  return low + (at - below) * (high - low);
}

/** Median of the present values. */
export function median(x: Float64Array): number {
  return quantileOfSorted(sortedPresent(x), 0.5);
}

/** 1/Φ⁻¹(3/4): turns a median absolute deviation into the SD of a normal sample. */
const MAD_TO_SD = 1.482602218505602;

/**
 * Robust standard deviation: 1.4826 times the median absolute deviation from the median. It stands
 * beside the classic SD, never instead of it: a steady wave changes the two differently.
 *
 * @param x - values, NaN where missing
 * @returns SD that one spike in a hundred hardly moves; unit of x
 * @throws {DomainError} `too_few_values` when no value is present
 * @source Rousseeuw & Croux (1993), Alternatives to the median absolute deviation, JASA 88, eq. 1.2
 *   (from memory)
 */
export function robustSd(x: Float64Array): number {
  const centre = median(x);
  return MAD_TO_SD * median(x.map((value) => Math.abs(value - centre)));
}

/**
 * Readings far from their neighbourhood: more than `limit` robust SDs from the running median of
 * nine. They are marked and counted, never taken out: whether a spike is dust or a real lump is for
 * a person to say.
 *
 * @param x - values in time order, NaN where missing
 * @param options.limit - robust SDs; 6 by default, which normal noise passes once in 10⁸
 * @param options.smallestStep - finest step of the gauge, so that a near-constant log flags nothing
 * @returns positions of the spikes, rising
 */
export function spikesAt(
  x: Float64Array,
  { limit = 6, smallestStep = 0 }: { readonly limit?: number; readonly smallestStep?: number } = {},
): number[] {
  const half = 4;
  const residual = new Float64Array(x.length);
  const near = new Float64Array(2 * half + 1);
  for (let i = 0; i < x.length; i++) {
    residual[i] = x[i]! - runningMedian(x, i, half, near);
  }
  const present = sortedPresent(residual.map(Math.abs));
  if (present.length < 2 * half + 1) return [];
  const scale = Math.max(MAD_TO_SD * quantileOfSorted(present, 0.5), smallestStep);
  if (scale === 0) return [];
  const out: number[] = [];
  for (let i = 0; i < x.length; i++) if (Math.abs(residual[i]!) > limit * scale) out.push(i);
  return out;
}

function runningMedian(x: Float64Array, at: number, half: number, near: Float64Array): number {
  let n = 0;
  for (let j = Math.max(0, at - half); j <= Math.min(x.length - 1, at + half); j++) {
    const value = x[j]!;
    if (Number.isNaN(value)) continue;
    let k = n++;
    for (; k > 0 && near[k - 1]! > value; k--) near[k] = near[k - 1]!;
    near[k] = value;
  }
  if (n === 0) return Number.NaN;
  return n % 2 === 1 ? near[n >> 1]! : (near[n / 2 - 1]! + near[n / 2]!) / 2;
}

function tooFew(operation: string, least: number, got: number): DomainError {
  return new DomainError(
    'too_few_values',
    `${operation}: the column must hold at least ${least} present value${least === 1 ? '' : 's'}; got ${got}. Take a longer stretch, or check that the log holds this column.`,
    { least, got },
  );
}
