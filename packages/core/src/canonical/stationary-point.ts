import { naturalValue } from '../factor/coding.ts';
import { type Factor, isNumeric, type NumericFactor } from '../factor/factor.ts';
import type { Dense } from '../linear/dense.ts';
import { symmetricEigen } from '../linear/eigen.ts';
import { type Powers, termOrder } from '../term/term.ts';

/** y = constant + xᵀ·linear + xᵀ·quadratic·x over the numeric factors, coded. */
export interface QuadraticForm {
  readonly factors: readonly NumericFactor[];
  readonly constant: number;
  /** Shape (k). */
  readonly linear: Float64Array;
  /** Symmetric, shape (k, k). */
  readonly quadratic: Dense;
  /** Named factors that the form is an average over (their contrasts sum to zero). */
  readonly averagedOver: readonly string[];
}

export type Nature = 'maximum' | 'minimum' | 'saddle' | 'stationary ridge' | 'rising ridge';

/** Where the fitted surface is level, or why there is no such place. */
export type StationaryPoint =
  | {
      readonly kind: 'found';
      /** Null for an exact rising ridge, which is level nowhere. */
      readonly coded: Readonly<Record<string, number>> | null;
      readonly natural: Readonly<Record<string, number>> | null;
      readonly value: number | null;
      readonly nature: Nature;
      /** Of the quadratic part, largest first; unit of the response per coded unit squared. */
      readonly eigenvalues: readonly number[];
      /** One direction per eigenvalue, in the order of `factorNames`. */
      readonly directions: readonly (readonly number[])[];
      readonly factorNames: readonly string[];
      /** From the centre, coded units. */
      readonly distance: number | null;
      /** Within the settings that were run; a point outside is an extrapolation. */
      readonly isInside: boolean;
      readonly averagedOver: readonly string[];
    }
  /** No squares in the model, or none that differ from rounding: products alone make no optimum. */
  | { readonly kind: 'no-curvature' }
  | { readonly kind: 'not-quadratic'; readonly terms: readonly Powers[] };

/** Settings that were run: the largest coded value of each factor, and the largest distance. */
export interface StudiedRegion {
  readonly low: Readonly<Record<string, number>>;
  readonly high: Readonly<Record<string, number>>;
  readonly radius: number;
}

/**
 * An eigenvalue this small beside the largest counts as flat. Common practice, no source: the
 * surface then changes twenty times slower along one direction than along another.
 */
export const FLAT_SHARE = 0.05;

/**
 * Stationary point of a fitted second-order surface and its nature.
 *
 * x_s = −½·B⁻¹·b with value b0 + ½·x_sᵀb; the signs of B's eigenvalues tell maximum, minimum or
 * saddle. With an eigenvalue near zero the surface is a ridge: stationary when the level line
 * crosses the studied region, rising when it lies outside and the surface climbs towards it.
 *
 * @param terms - model terms; named-level terms are averaged out
 * @param coefficients - one a term; unit of the response
 * @param region - see `StudiedRegion`; the cube of −1…+1 when left out
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, section 5.5.3.1 (and its technical
 *   appendix 5.5.9.9); Box & Draper (2007), Response Surfaces, Mixtures, and Ridge Analyses, ch. 11
 */
export function stationaryPoint(
  terms: readonly Powers[],
  coefficients: Float64Array,
  factors: readonly Factor[],
  region?: StudiedRegion,
): StationaryPoint {
  const steep = terms.filter((powers) => !isSecondOrder(powers));
  if (steep.length > 0) return { kind: 'not-quadratic', terms: steep };
  const hasSquare = terms.some((powers) => Object.values(powers).includes(2));
  if (!hasSquare) return { kind: 'no-curvature' };
  const form = quadraticForm(terms, coefficients, factors);
  const k = form.factors.length;
  const { values, vectors } = symmetricEigen(form.quadratic);
  const largest = values.reduce((top, value) => Math.max(top, Math.abs(value)), 0);
  const slope = form.linear.reduce((top, value) => Math.max(top, Math.abs(value)), 0);
  // Curvature at the level of rounding beside the slopes is none.
  if (largest <= 1e-12 * slope || largest === 0) return { kind: 'no-curvature' };

  const direction = (j: number): number[] =>
    Array.from({ length: k }, (_, i) => vectors.data[i * k + j]!);
  const at = new Float64Array(k);
  let isLevelNowhere = false;
  for (let j = 0; j < k; j++) {
    const along = direction(j);
    const pull = along.reduce((sum, value, i) => sum + value * form.linear[i]!, 0);
    if (Math.abs(values[j]!) <= 1e-10 * largest) {
      if (Math.abs(pull) > 1e-10 * Math.max(slope, largest)) isLevelNowhere = true;
      continue;
    }
    for (let i = 0; i < k; i++) at[i]! -= (along[i]! * pull) / (2 * values[j]!);
  }
  const shared = {
    kind: 'found' as const,
    eigenvalues: Array.from(values),
    directions: Array.from({ length: k }, (_, j) => direction(j)),
    factorNames: form.factors.map((factor) => factor.name),
    averagedOver: form.averagedOver,
  };
  if (isLevelNowhere) {
    const nowhere = { coded: null, natural: null, value: null, distance: null, isInside: false };
    return { ...shared, ...nowhere, nature: 'rising ridge' };
  }
  const isInside = liesInside(at, form.factors, region);
  return {
    ...shared,
    coded: byName(form.factors, (_, i) => at[i]!),
    natural: byName(form.factors, (factor, i) => naturalValue(at[i]!, factor)),
    value: form.constant + form.linear.reduce((sum, b, i) => sum + (b * at[i]!) / 2, 0),
    nature: natureOf(values, largest, isInside),
    distance: Math.hypot(...at),
    isInside,
  };
}

/** Splits a second-order model into constant, slopes and curvature. */
export function quadraticForm(
  terms: readonly Powers[],
  coefficients: Float64Array,
  factors: readonly Factor[],
): QuadraticForm {
  const used = new Set(terms.flatMap((powers) => Object.keys(powers)));
  const numeric = factors.filter(isNumeric).filter((factor) => used.has(factor.name));
  const k = numeric.length;
  const indexOf = (name: string): number => numeric.findIndex((factor) => factor.name === name);
  const linear = new Float64Array(k);
  const quadratic = new Float64Array(k * k);
  const averagedOver = new Set<string>();
  let constant = 0;
  for (const [j, powers] of terms.entries()) {
    const entries = Object.entries(powers);
    const named = entries.filter(([, power]) => typeof power === 'string');
    for (const [name] of named) averagedOver.add(name);
    if (named.length > 0) continue;
    const value = coefficients[j]!;
    const [first, second] = entries;
    if (!first) constant += value;
    else if (second) {
      const [a, b] = [indexOf(first[0]), indexOf(second[0])];
      quadratic[a * k + b]! += value / 2;
      quadratic[b * k + a]! += value / 2;
    } else if (first[1] === 2) quadratic[indexOf(first[0]) * (k + 1)]! += value;
    else linear[indexOf(first[0])]! += value;
  }
  return {
    factors: numeric,
    constant,
    linear,
    quadratic: { rows: k, cols: k, data: quadratic },
    averagedOver: [...averagedOver],
  };
}

/** The nature in words, with what it means for the next step. */
export function describeNature(nature: Nature): string {
  switch (nature) {
    case 'maximum':
      return 'a maximum: the response falls in every direction';
    case 'minimum':
      return 'a minimum: the response rises in every direction';
    case 'saddle':
      return 'a saddle: the response rises in some directions and falls in others';
    case 'stationary ridge':
      return 'a ridge: along one direction the response hardly changes';
    case 'rising ridge':
      return 'a rising ridge: the response keeps changing along one direction, beyond what was run';
  }
}

const isSecondOrder = (powers: Powers): boolean =>
  termOrder(powers) <= 2 || Object.values(powers).some((power) => typeof power === 'string');

function natureOf(values: Float64Array, largest: number, isInside: boolean): Nature {
  if (values.some((value) => Math.abs(value) <= FLAT_SHARE * largest))
    return isInside ? 'stationary ridge' : 'rising ridge';
  if (values.every((value) => value < 0)) return 'maximum';
  return values.every((value) => value > 0) ? 'minimum' : 'saddle';
}

function liesInside(
  at: Float64Array,
  factors: readonly NumericFactor[],
  region?: StudiedRegion,
): boolean {
  const slack = 1e-9;
  const isInRange = factors.every(({ name }, i) => {
    const low = region?.low[name] ?? -1;
    const high = region?.high[name] ?? 1;
    return at[i]! >= low - slack && at[i]! <= high + slack;
  });
  return isInRange && (!region || Math.hypot(...at) <= region.radius + slack);
}

function byName(
  factors: readonly NumericFactor[],
  value: (factor: NumericFactor, index: number) => number,
): Record<string, number> {
  return Object.fromEntries(factors.map((factor, i) => [factor.name, value(factor, i)]));
}
