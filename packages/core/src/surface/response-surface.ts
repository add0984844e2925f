import { tUpperQuantile } from '../distribution/student-t.ts';
import type { Factor } from '../factor/factor.ts';
import type { ResponseFit } from '../fit/report/fit-result.ts';
import { mixtureQuantile } from '../fit/t-mixture.ts';
import type { Powers } from '../term/term.ts';
import { surfaceTerms } from './fitted-rows.ts';
import { type Polynomial, polynomial } from './polynomial.ts';
import {
  extraPoissonVariance,
  rowScale,
  type SurfaceBelief,
  singleBelief,
} from './surface-belief.ts';
import { type TermRow, termRow } from './term-row.ts';

/** A fitted response as a surface over the factor space; `scale` is what the terms add up to. */
export interface ResponseSurface {
  readonly name: string;
  readonly scale: ResponseFit['scale'];
  readonly terms: readonly Powers[];
  readonly coefficients: Float64Array;
  /** Row-major, shape (p, p); null when nothing can judge the estimates. */
  readonly covariance: Float64Array | null;
  /** Variance of one new set-up about the surface, on its scale. */
  readonly noiseVariance: number;
  /** Fewest degrees of freedom behind any term; Infinity is normal. */
  readonly df: number;
  /** Degrees of freedom of each term, shape (p). */
  readonly termDf: Float64Array;
  /** The whole of what is believed; null when nothing can judge the estimates. */
  readonly belief: SurfaceBelief | null;
  readonly mean: Polynomial;
  /** Model terms at settings, shape (p). */
  readonly row: (settings: Float64Array) => Float64Array;
  readonly rowInto: TermRow;
}

/**
 * The surface of a fit, or null when it has no terms. Block terms are left out: a prediction is for
 * the average block.
 *
 * @param belief - an exact posterior of the same terms (see `plotBelief`): the surface is then its
 *   mean, and judges by it; without one the fit's own estimates and covariance serve
 */
export function responseSurface(
  fit: ResponseFit,
  factors: readonly Factor[],
  belief: SurfaceBelief | null = null,
): ResponseSurface | null {
  const kept = surfaceTerms(fit, factors);
  if (kept.length === 0) return null;
  const terms = kept.map((i) => fit.terms[i]!.powers);
  const termDf = Float64Array.from(kept, (i) =>
    belief ? belief.df : (fit.terms[i]!.df ?? Number.POSITIVE_INFINITY),
  );
  const estimates = Float64Array.from(kept, (i) => fit.terms[i]!.estimate);
  const coefficients = belief ? beliefMean(belief) : estimates;
  const covariance = belief ? beliefCovariance(belief) : fitCovariance(fit, kept);
  const noise = belief ? beliefNoise(belief) : noiseVariance(fit);
  const rowInto = termRow(terms, factors);
  const row = (settings: Float64Array): Float64Array => {
    const target = new Float64Array(terms.length);
    rowInto(target, settings);
    return target;
  };
  const surface = {
    name: fit.name,
    scale: fit.scale,
    terms,
    coefficients,
    covariance,
    noiseVariance: noise,
    df: termDf.reduce((least, df) => Math.min(least, df), Number.POSITIVE_INFINITY),
    termDf,
    mean: polynomial(terms, coefficients, factors),
    row,
    rowInto,
  };
  if (belief || !covariance) return { ...surface, belief };
  const centre = row(new Float64Array(factors.length));
  const df = combinationDf({ ...surface, belief: null }, centre, noise);
  return { ...surface, belief: singleBelief(coefficients, covariance, { noise, df }) };
}

function fitCovariance({ covariance }: ResponseFit, kept: readonly number[]): Float64Array | null {
  if (!covariance) return null;
  return Float64Array.from(kept.flatMap((i) => kept.map((j) => covariance[i]![j]!)));
}

function beliefMean({ nodes }: SurfaceBelief): Float64Array {
  const out = new Float64Array(nodes[0]!.coefficients.length);
  for (const { weight, coefficients } of nodes)
    for (let j = 0; j < out.length; j++) out[j]! += weight * coefficients[j]!;
  return out;
}

/** A t's variance is its squared scale times df/(df − 2); with 2 df or fewer that of 3 stands in. */
const inflation = (df: number): number => {
  const usable = Math.max(df, 3);
  return Number.isFinite(usable) ? usable / (usable - 2) : 1;
};

function beliefCovariance(belief: SurfaceBelief): Float64Array {
  const mean = beliefMean(belief);
  const p = mean.length;
  const out = new Float64Array(p * p);
  const wide = inflation(belief.df);
  for (const { weight, coefficients, lower } of belief.nodes)
    for (let i = 0; i < p; i++)
      for (let j = 0; j < p; j++) {
        let sum = 0;
        for (let k = 0; k <= Math.min(i, j); k++) sum += lower[i * p + k]! * lower[j * p + k]!;
        const between = (coefficients[i]! - mean[i]!) * (coefficients[j]! - mean[j]!);
        out[i * p + j]! += weight * (wide * sum + between);
      }
  return out;
}

const beliefNoise = ({ df, nodes }: SurfaceBelief): number =>
  inflation(df) * nodes.reduce((sum, { weight, noise }) => sum + weight * noise, 0);

/**
 * A new set-up carries every component of variance. A rate of counts carries that of its whole
 * plots, or without plots what the counts scatter beyond Poisson.
 */
function noiseVariance(fit: ResponseFit): number {
  if (fit.varianceComponents.length > 0) {
    return fit.varianceComponents.reduce((sum, { variance }) => sum + variance, 0);
  }
  if (fit.scale === 'ln rate') return extraPoissonVariance(fit);
  return fit.scale === 'log odds' ? 0 : (fit.residualSd ?? 0) ** 2;
}

/** Variance of the fitted mean at settings, on the surface's scale; null when nothing can judge it. */
export function meanVariance(
  { covariance, row }: ResponseSurface,
  settings: Float64Array,
): number | null {
  if (!covariance) return null;
  const x = row(settings);
  const p = x.length;
  let sum = 0;
  for (let i = 0; i < p; i++) {
    let inner = 0;
    for (let j = 0; j < p; j++) inner += covariance[i * p + j]! * x[j]!;
    sum += x[i]! * inner;
  }
  return Math.max(0, sum);
}

/**
 * Degrees of freedom of a combination of terms that rest on different strata: Satterthwaite's, the
 * terms of one df taken as one independent part. Noise of a new set-up is added to the part with
 * the fewest df, where the plots that a set-up stands for are judged.
 *
 * @param weights - the combination, shape (p)
 * @source Satterthwaite (1946), An approximate distribution of estimates of variance components,
 *   Biometrics Bulletin 2:110–114 (from memory)
 */
export function combinationDf(
  { covariance, termDf, df }: ResponseSurface,
  weights: Float64Array,
  noise = 0,
): number {
  if (!covariance || termDf.every((value) => value === df)) return df;
  const p = weights.length;
  let total = 0;
  let spread = 0;
  for (const value of new Set(termDf)) {
    let part = value === df ? noise : 0;
    for (let i = 0; i < p; i++)
      for (let j = 0; j < p; j++)
        if (termDf[i] === value && termDf[j] === value)
          part += weights[i]! * covariance[i * p + j]! * weights[j]!;
    total += part;
    spread += (part * part) / value;
  }
  return total > 0 ? Math.max(df, (total * total) / spread) : df;
}

/**
 * A combination of the terms with its interval, on the surface's scale: of the mean, or of a new
 * set-up, or of the mean of several.
 *
 * @param weights - the combination, shape (p)
 * @param noiseShare - part of a set-up's variance that it carries: 0 the mean, 1 one set-up, 1/m the
 *   mean of m
 */
export function combinationEstimate(
  surface: ResponseSurface,
  weights: Float64Array,
  { noiseShare = 0, confidence = 0.95 }: { noiseShare?: number; confidence?: number } = {},
): Estimate {
  const { belief, coefficients } = surface;
  const value = dot(weights, coefficients);
  if (!belief) return { value, low: null, high: null };
  const tail = (1 - confidence) / 2;
  const squared = belief.nodes.map((node) => rowScale(node, weights) + noiseShare * node.noise);
  if (belief.nodes.length === 1) {
    const df = combinationDf(surface, weights, noiseShare * surface.noiseVariance);
    const half = tUpperQuantile(tail, df) * Math.sqrt(squared[0]!);
    return { value, low: value - half, high: value + half };
  }
  const mixture = {
    df: belief.df,
    weights: Float64Array.from(belief.nodes, ({ weight }) => weight),
    centers: Float64Array.from(belief.nodes, (node) => dot(weights, node.coefficients)),
    squaredScales: Float64Array.from(squared),
  };
  if (squared.every((scale) => scale === 0)) return { value, low: value, high: value };
  return { value, low: mixtureQuantile(mixture, tail), high: mixtureQuantile(mixture, 1 - tail) };
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < a.length; j++) sum += a[j]! * b[j]!;
  return sum;
}

/** A value with an interval, in the response's own unit; limits are null when nothing can judge them. */
export interface Estimate {
  readonly value: number;
  readonly low: number | null;
  readonly high: number | null;
}

/** What a surface says of one place. */
export interface SurfacePrediction {
  readonly name: string;
  readonly mean: Estimate;
  /** Where one new set-up should fall; of a rate of counts, its true rate. */
  readonly next: Estimate;
}

/**
 * Mean and prediction intervals at settings, back on the response's own scale. On a log scale the
 * value is the median.
 *
 * @param settings - coded, in the order of the factors
 */
export function surfacePrediction(
  surface: ResponseSurface,
  settings: Float64Array,
  confidence = 0.95,
): SurfacePrediction {
  const row = surface.row(settings);
  const of = (noiseShare: number): Estimate =>
    estimateBack(surface, combinationEstimate(surface, row, { noiseShare, confidence }));
  return { name: surface.name, mean: of(0), next: of(1) };
}

/** An estimate on the surface's scale, in the response's own unit. */
export function estimateBack(
  surface: Pick<ResponseSurface, 'scale'>,
  { value, low, high }: Estimate,
): Estimate {
  return {
    value: backOnScale(surface, value),
    low: low === null ? null : backOnScale(surface, low),
    high: high === null ? null : backOnScale(surface, high),
  };
}

/** A value of the surface's scale in the response's own unit. */
export function backOnScale({ scale }: Pick<ResponseSurface, 'scale'>, value: number): number {
  switch (scale) {
    case 'response':
      return value;
    case 'ln response':
    case 'ln rate':
      return Math.exp(value);
    case 'log odds':
      return 1 / (1 + Math.exp(-value));
  }
}

/** A value of the response's own unit on the surface's scale. */
export function onScale({ scale }: Pick<ResponseSurface, 'scale'>, value: number): number {
  switch (scale) {
    case 'response':
      return value;
    case 'ln response':
    case 'ln rate':
      return Math.log(value);
    case 'log odds':
      return Math.log(value / (1 - value));
  }
}
