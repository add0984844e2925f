import { normalUpperQuantile } from '../distribution/normal.ts';
import { tUpperQuantile } from '../distribution/student-t.ts';
import type { Factor } from '../factor/factor.ts';
import type { ResponseFit } from '../fit/report/fit-result.ts';
import type { Powers } from '../term/term.ts';
import { type Polynomial, polynomial } from './polynomial.ts';

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
  /** Fewest degrees of freedom behind any term: what intervals are judged on; Infinity is normal. */
  readonly df: number;
  readonly mean: Polynomial;
  /** Model terms at settings, shape (p). */
  readonly row: (settings: Float64Array) => Float64Array;
}

/**
 * The surface of a fit, or null when it has no terms. Block terms are left out: a prediction is for
 * the average block.
 */
export function responseSurface(
  fit: ResponseFit,
  factors: readonly Factor[],
): ResponseSurface | null {
  const names = new Set(factors.map(({ name }) => name));
  const kept = fit.terms.flatMap((term, i) =>
    Object.keys(term.powers).every((name) => names.has(name)) ? [i] : [],
  );
  if (kept.length === 0) return null;
  const terms = kept.map((i) => fit.terms[i]!.powers);
  const coefficients = Float64Array.from(kept, (i) => fit.terms[i]!.estimate);
  const covariance = fit.covariance
    ? Float64Array.from(kept.flatMap((i) => kept.map((j) => fit.covariance![i]![j]!)))
    : null;
  const dfs = kept.map((i) => fit.terms[i]!.df).filter((df) => df !== null);
  const pieces = terms.map((powers) => polynomial([powers], Float64Array.of(1), factors));
  return {
    name: fit.name,
    scale: fit.scale,
    terms,
    coefficients,
    covariance,
    noiseVariance: noiseVariance(fit),
    df: dfs.length > 0 ? Math.min(...dfs) : Number.POSITIVE_INFINITY,
    mean: polynomial(terms, coefficients, factors),
    row: (settings) => Float64Array.from(pieces, (piece) => piece(settings)),
  };
}

/** A new set-up carries every component of variance; a rate of counts carries none of its own. */
function noiseVariance(fit: ResponseFit): number {
  if (fit.varianceComponents.length > 0) {
    return fit.varianceComponents.reduce((sum, { variance }) => sum + variance, 0);
  }
  return fit.scale === 'response' || fit.scale === 'ln response' ? (fit.residualSd ?? 0) ** 2 : 0;
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
  /** Where one new set-up should fall. For a rate of counts: the same as `mean`. */
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
  const value = surface.mean(settings);
  const variance = meanVariance(surface, settings);
  const interval = (total: number | null): Estimate => {
    const ends = total === null ? null : quantileOf(surface, confidence) * Math.sqrt(total);
    return {
      value: backOnScale(surface, value),
      low: ends === null ? null : backOnScale(surface, value - ends),
      high: ends === null ? null : backOnScale(surface, value + ends),
    };
  };
  return {
    name: surface.name,
    mean: interval(variance),
    next: interval(variance === null ? null : variance + surface.noiseVariance),
  };
}

const quantileOf = ({ df }: ResponseSurface, confidence: number): number =>
  Number.isFinite(df)
    ? tUpperQuantile((1 - confidence) / 2, df)
    : normalUpperQuantile((1 - confidence) / 2);

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
