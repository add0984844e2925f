import { normalTwoSided, normalUpperQuantile } from '../../distribution/normal.ts';
import { tTwoSided, tUpperQuantile } from '../../distribution/student-t.ts';
import { isNumeric } from '../../factor/factor.ts';
import { type Powers, termKey, termName } from '../../term/term.ts';
import type { FittedTerm, ResponseFit } from './fit-result.ts';
import { covariateRange } from './model-columns.ts';
import type { Prepared } from './prepared.ts';
import { REPORT_LEVEL } from './report-level.ts';

/** How a setting is coded: (value − middle) / half. */
export interface Coding {
  readonly middle: number;
  readonly half: number;
}

/** How factors and covariates on a scale are coded, by name. */
export function codingsOf({ factors, spec, runs }: Prepared): Map<string, Coding> {
  const ranges = [
    ...factors.filter(isNumeric).map(({ name, low, high }) => ({ name, low, high })),
    ...(spec.covariates ?? []).map((name, c) => ({ name, ...covariateRange(runs, c) })),
  ];
  return new Map(
    ranges.map(({ name, low, high }) => [
      name,
      { middle: (low + high) / 2, half: (high - low) / 2 },
    ]),
  );
}

/** One term in natural units as a combination of the fitted ones. */
interface Combination {
  readonly powers: Powers;
  readonly parts: { readonly term: number; readonly weight: number }[];
}

/**
 * The fitted model written out in natural units: the same predictions, other coefficients.
 *
 * Each coded power ((x − m)/h)ᵏ is multiplied out by the binomial theorem, so that a term in natural
 * units is a fixed combination of the fitted ones, and its error follows from their covariance. Terms
 * appear that a model without all lower ones did not list. A term is tested when the terms it is
 * made of share their degrees of freedom.
 *
 * @param codings - by name, of factors and covariates on a scale; names left out pass through
 * @returns lower terms first, in the order in which the fitted terms bring them in
 */
export function naturalTerms(
  fit: Pick<ResponseFit, 'terms' | 'covariance' | 'method'>,
  codings: ReadonlyMap<string, Coding>,
): FittedTerm[] {
  const { terms } = fit;
  return combinations(terms, codings).map(({ powers, parts }) => {
    const told = { name: termName(powers), powers };
    const [only, ...others] = parts;
    if (others.length === 0) return { ...told, ...scaled(terms[only!.term]!, only!.weight) };
    const estimate = parts.reduce((sum, p) => sum + p.weight * terms[p.term]!.estimate, 0);
    return { ...told, estimate, ...judged(estimate, parts, fit) };
  });
}

/** A term that only changes its unit keeps its test. */
function scaled(term: FittedTerm, weight: number): Omit<FittedTerm, 'name' | 'powers'> {
  const { estimate, standardError, df, p } = term;
  const times = (value: number | null) => (value === null ? null : value * weight);
  const [low, high] = weight > 0 ? [term.low, term.high] : [term.high, term.low];
  return {
    estimate: estimate * weight,
    standardError: standardError === null ? null : standardError * Math.abs(weight),
    df,
    statistic: term.statistic === null ? null : term.statistic * Math.sign(weight),
    p,
    low: times(low),
    high: times(high),
  };
}

function combinations(
  terms: readonly FittedTerm[],
  codings: ReadonlyMap<string, Coding>,
): Combination[] {
  const found = new Map<string, Combination>();
  for (const [term, { powers }] of terms.entries()) {
    for (const { powers: own, weight } of multipliedOut(powers, codings)) {
      if (weight === 0) continue;
      const key = termKey(own);
      const known = found.get(key) ?? { powers: own, parts: [] };
      known.parts.push({ term, weight });
      found.set(key, known);
    }
  }
  return [...found.values()];
}

/** A product of coded powers as a sum of products of natural ones. */
function multipliedOut(powers: Powers, codings: ReadonlyMap<string, Coding>) {
  let sum: { powers: Record<string, number | string>; weight: number }[] = [
    { powers: {}, weight: 1 },
  ];
  for (const [name, power] of Object.entries(powers)) {
    const coding = codings.get(name);
    if (typeof power === 'string' || !coding) {
      sum = sum.map((one) => ({ ...one, powers: { ...one.powers, [name]: power } }));
      continue;
    }
    const weights = binomialWeights(power, coding);
    sum = weights.flatMap((weight, k) =>
      sum.map((one) => ({
        powers: k === 0 ? one.powers : { ...one.powers, [name]: k },
        weight: one.weight * weight,
      })),
    );
  }
  return sum;
}

/** Coefficients of x⁰ … xᵏ in ((x − middle) / half)ᵏ. */
function binomialWeights(power: number, { middle, half }: Coding): number[] {
  let weights = [1];
  for (let k = 0; k < power; k++) {
    const next = new Array<number>(weights.length + 1).fill(0);
    for (const [i, weight] of weights.entries()) {
      next[i]! -= (weight * middle) / half;
      next[i + 1]! += weight / half;
    }
    weights = next;
  }
  return weights;
}

function judged(
  estimate: number,
  parts: Combination['parts'],
  { terms, covariance, method }: Pick<ResponseFit, 'terms' | 'covariance' | 'method'>,
): Omit<FittedTerm, 'name' | 'powers' | 'estimate'> {
  const nothing = { df: null, statistic: null, p: null, low: null, high: null };
  if (!covariance) return { standardError: null, ...nothing };
  let variance = 0;
  for (const a of parts)
    for (const b of parts) variance += a.weight * b.weight * covariance[a.term]![b.term]!;
  const standardError = Math.sqrt(Math.max(0, variance));
  const first = terms[parts[0]!.term]!;
  const isShared = parts.every(({ term }) => terms[term]!.df === first.df);
  // The penalised likelihood tests by likelihood ratio, which a covariance does not give.
  const isTested =
    method !== 'penalised likelihood' && parts.every(({ term }) => terms[term]!.p !== null);
  if (!isShared || !isTested || !(standardError > 0)) return { standardError, ...nothing };
  const { df } = first;
  const statistic = estimate / standardError;
  const tail = (1 - REPORT_LEVEL) / 2;
  const half = standardError * (df === null ? normalUpperQuantile(tail) : tUpperQuantile(tail, df));
  const p = df === null ? normalTwoSided(statistic) : tTwoSided(statistic, df);
  return { standardError, df, statistic, p, low: estimate - half, high: estimate + half };
}
