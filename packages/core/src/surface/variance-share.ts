import type { LinearConstraint } from '../design/design.ts';
import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';
import { seededUniform } from '../random/uniform.ts';
import { conditionalShares } from './conditional-share.ts';
import { expandedTerms } from './factor-basis.ts';
import { linearLimits } from './linear-limits.ts';
import type { ResponseSurface } from './response-surface.ts';
import { surfaceDraw } from './surface-belief.ts';

/** How much of what a response does over the region a factor has a hand in. */
export interface VarianceShare {
  readonly factor: string;
  /** Of the variance, what this factor explains alone, averaged over the others; 0 to 1. */
  readonly alone: number;
  /** What is left unexplained when all other factors are known: its own part in everything. */
  readonly total: number;
  /** Central interval of `total` over what is believed of the coefficients; null without belief. */
  readonly low: number | null;
  readonly high: number | null;
  readonly reading:
    | 'matters'
    | 'matters only with others'
    | 'cannot tell'
    | 'idle'
    /** No term holds the factor: it was left out, not found idle. */
    | 'not in the model';
}

export interface VarianceShares {
  /** SD of the fitted surface over the region, on its scale. */
  readonly surfaceSd: number;
  /** How the shares were had. */
  readonly region: 'whole box, exact' | 'cut region, sampled';
  /** Largest total first. */
  readonly shares: readonly VarianceShare[];
  readonly says: string;
}

export interface VarianceSharesOf {
  readonly surface: ResponseSurface;
  readonly factors: readonly Factor[];
  /** Limits of line and grade; the region is then sampled. */
  readonly constraints?: readonly LinearConstraint[];
  readonly confidence?: number;
  readonly seed: number;
}

const DRAWS = 400;
/** Below this share a factor explains nothing worth a word. */
const IDLE_SHARE = 0.02;

/**
 * Shares of the variance of a fitted surface over the region, so that a factor with a bowl and no
 * slope is seen. Exact on the whole box: every term is expanded in orthonormal functions of each
 * factor, and a factor's total share is that of all products it takes part in. On a region cut by
 * limits the factors depend on each other: what a factor explains given the others, and alone, is
 * then taken along the lines through quasi-random places.
 *
 * @source Sobol' (1993), Sensitivity estimates for nonlinear mathematical models, Mathematical
 *   Modelling and Computational Experiments 1:407–414 (from memory); Homma & Saltelli (1996),
 *   Reliability Engineering & System Safety 52:1–17 (total shares; from memory)
 */
export function varianceShares(request: VarianceSharesOf): VarianceShares {
  const { surface, factors, constraints = [], seed } = request;
  const cutting = bindingConstraints(factors, constraints);
  if (cutting.length === 0) return boxShares(request);
  const { variance, alone, total } = conditionalShares(
    surface,
    factors,
    linearLimits(factors, cutting),
    seed,
  );
  const shares = factors.map(({ name }, f) =>
    shareOf(surface, name, { alone: alone[f]!, total: total[f]!, low: null, high: null }),
  );
  return told(surface, variance, shares, 'cut region, sampled');
}

/** Limits that cut something off the box. */
function bindingConstraints(
  factors: readonly Factor[],
  constraints: readonly LinearConstraint[],
): LinearConstraint[] {
  const numeric = new Set(factors.filter((factor) => !isNamed(factor)).map(({ name }) => name));
  return constraints.filter(({ coefficients, atMost }) => {
    let most = 0;
    for (const [name, weight] of Object.entries(coefficients))
      if (numeric.has(name)) most += Math.abs(weight);
    return most > atMost + 1e-9;
  });
}

function boxShares({
  surface,
  factors,
  confidence = 0.95,
  seed,
}: VarianceSharesOf): VarianceShares {
  const expanded = expandedTerms(surface.terms, factors);
  const at = partsOf(expanded, surface.coefficients, factors.length);
  const uniform = seededUniform(seed, 'variance shares');
  const { belief } = surface;
  const drawn = belief
    ? Array.from({ length: DRAWS }, () =>
        partsOf(expanded, surfaceDraw(belief, uniform).coefficients, factors.length),
      )
    : [];
  const tail = (1 - confidence) / 2;
  const shares = factors.map(({ name }, f) => {
    const sorted = Float64Array.from(drawn, ({ total }) => total[f]!).sort();
    const quantile = (p: number) => sorted[Math.round(p * (sorted.length - 1))] ?? null;
    return shareOf(surface, name, {
      alone: at.alone[f]!,
      total: at.total[f]!,
      low: quantile(tail),
      high: quantile(1 - tail),
    });
  });
  return told(surface, at.variance, shares, 'whole box, exact');
}

function partsOf(
  { indices, weights }: ReturnType<typeof expandedTerms>,
  coefficients: Float64Array,
  k: number,
) {
  const p = coefficients.length;
  const alone = new Float64Array(k);
  const total = new Float64Array(k);
  let variance = 0;
  for (const [part, index] of indices.entries()) {
    let value = 0;
    for (let j = 0; j < p; j++) value += weights[part * p + j]! * coefficients[j]!;
    const square = value * value;
    const involved = index.reduce((count, l) => count + (l > 0 ? 1 : 0), 0);
    if (involved === 0) continue;
    variance += square;
    for (let f = 0; f < k; f++) {
      if (index[f] === 0) continue;
      total[f]! += square;
      if (involved === 1) alone[f]! += square;
    }
  }
  const scale = variance > 0 ? 1 / variance : 0;
  return { variance, alone: alone.map((v) => v * scale), total: total.map((v) => v * scale) };
}

function shareOf(
  { terms }: ResponseSurface,
  factor: string,
  share: Omit<VarianceShare, 'factor' | 'reading'>,
): VarianceShare {
  const isHeld = terms.some((powers) => Object.hasOwn(powers, factor));
  return { factor, ...share, reading: isHeld ? readingOf(share) : 'not in the model' };
}

function readingOf({
  alone,
  total,
  low,
  high,
}: Omit<VarianceShare, 'factor' | 'reading'>): VarianceShare['reading'] {
  if (high !== null && high < IDLE_SHARE) return 'idle';
  if (low !== null && low < IDLE_SHARE / 4) return 'cannot tell';
  if (total < IDLE_SHARE) return 'idle';
  return alone < total / 4 ? 'matters only with others' : 'matters';
}

function told(
  surface: ResponseSurface,
  variance: number,
  shares: readonly VarianceShare[],
  region: VarianceShares['region'],
): VarianceShares {
  const sorted = [...shares].sort((a, b) => b.total - a.total);
  const percent = (value: number): string => `${Math.round(100 * value)} %`;
  const named = sorted
    .filter(({ total }) => total >= IDLE_SHARE)
    .map(({ factor, total }) => `${factor} ${percent(total)}`);
  const says =
    variance > 0
      ? `Of what ${surface.name} does over the region: ${named.join(', ')}. Shares add to more than 100 % where factors act together.`
      : `${surface.name} is the same all over the region.`;
  return { surfaceSd: Math.sqrt(variance), region, shares: sorted, says };
}
