import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';
import type { Powers } from '../term/term.ts';

/**
 * A function of one factor in an orthonormal basis over its studied range: entry 0 is its mean, the
 * sum of squares of the others its variance. Numeric factors are spread evenly over −1…1 (Legendre
 * polynomials), named ones evenly over their levels.
 */
export type BasisWeights = Float64Array;

/**
 * The basis weights of what each term holds of one factor.
 *
 * @param power - exponent of a numeric factor, or a level of a named one; undefined when it is absent
 */
export function basisWeights(factor: Factor, power: number | string | undefined): BasisWeights {
  if (power === undefined) return Float64Array.of(1);
  if (!isNamed(factor)) return legendreWeights(Number(power));
  const { levels } = factor;
  const at = levels.indexOf(String(power));
  const last = levels.length - 1;
  return levelWeights(
    Float64Array.from(levels, (_, level) => (level === at ? 1 : level === last ? -1 : 0)),
  );
}

/**
 * x^m in orthonormal Legendre polynomials: with x·P̃ₗ = aₗ₊₁P̃ₗ₊₁ + aₗP̃ₗ₋₁ and aₗ = l/√(4l² − 1), every
 * power follows from the one before.
 */
function legendreWeights(m: number): BasisWeights {
  let weights = Float64Array.of(1);
  for (let step = 0; step < m; step++) {
    const next = new Float64Array(weights.length + 1);
    for (let l = 0; l < weights.length; l++) {
      next[l + 1]! += weights[l]! * ladder(l + 1);
      if (l > 0) next[l - 1]! += weights[l]! * ladder(l);
    }
    weights = next;
  }
  return weights;
}

const ladder = (l: number): number => l / Math.sqrt(4 * l * l - 1);

/**
 * A function of levels in the Helmert basis: the l-th compares the first l levels with the next, and
 * all have mean square 1 over the levels.
 */
function levelWeights(values: Float64Array): BasisWeights {
  const n = values.length;
  const out = new Float64Array(n);
  let sum = 0;
  for (let l = 0; l < n; l++) {
    if (l > 0) out[l] = (sum - l * values[l]!) / Math.sqrt(n * l * (l + 1));
    sum += values[l]!;
  }
  out[0] = sum / n;
  return out;
}

/** A polynomial as a sum over products of basis functions: key → index of each factor, and weight. */
export interface ExpandedSurface {
  /** Indices of the basis functions, one a factor; shape (parts, factors). */
  readonly indices: readonly Uint8Array[];
  /** Weight of each part by term: part = Σ coefficient·weight, shape (parts, terms). */
  readonly weights: Float64Array;
}

/** Expands every term into products of basis functions; parts that several terms share are joined. */
export function expandedTerms(
  terms: readonly Powers[],
  factors: readonly Factor[],
): ExpandedSurface {
  const places = new Map<string, number>();
  const indices: Uint8Array[] = [];
  const entries: { part: number; term: number; weight: number }[] = [];
  for (const [term, powers] of terms.entries()) {
    const own = factors.map((factor) => basisWeights(factor, powers[factor.name]));
    for (const { index, weight } of products(own)) {
      const key = index.join(',');
      let part = places.get(key);
      if (part === undefined) {
        part = indices.length;
        places.set(key, part);
        indices.push(index);
      }
      entries.push({ part, term, weight });
    }
  }
  const weights = new Float64Array(indices.length * terms.length);
  for (const { part, term, weight } of entries) weights[part * terms.length + term]! += weight;
  return { indices, weights };
}

/** All products of one basis function a factor whose weight is not zero. */
function products(own: readonly BasisWeights[]): { index: Uint8Array; weight: number }[] {
  let out = [{ index: new Uint8Array(own.length), weight: 1 }];
  for (const [f, weights] of own.entries()) {
    out = out.flatMap(({ index, weight }) =>
      Array.from(weights).flatMap((value, l) => {
        if (value === 0) return [];
        const next = index.slice();
        next[f] = l;
        return [{ index: next, weight: weight * value }];
      }),
    );
  }
  return out;
}
