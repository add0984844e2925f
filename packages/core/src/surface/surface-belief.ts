import type { ResponseFit } from '../fit/report/fit-result.ts';
import type { SplitPlotPosterior } from '../fit/split-plot-posterior.ts';
import { choleskyInto, choleskyInverse } from '../linear/cholesky.ts';
import { gammaDraw } from '../random/gamma-draw.ts';
import { standardNormal } from '../random/standard-normal.ts';
import type { Uniform } from '../random/uniform.ts';

/**
 * One part of what is believed of a surface: given the part, the coefficients have a multivariate t
 * distribution, and one scale factor, df/χ², is common to them and to the noise.
 */
export interface BeliefNode {
  readonly weight: number;
  /** Shape (p). */
  readonly coefficients: Float64Array;
  /** Cholesky factor of the squared scale of the coefficients, shape (p, p), row-major. */
  readonly lower: Float64Array;
  /** Squared scale of one new set-up about the surface. */
  readonly noise: number;
}

/**
 * What is believed of a surface after the data, as a mixture of multivariate t distributions: one
 * part for a single-stratum fit, a few for a split plot whose variance ratio is itself uncertain.
 */
export interface SurfaceBelief {
  /** Infinity is normal. */
  readonly df: number;
  readonly nodes: readonly BeliefNode[];
}

/** Parts kept of a mixture over variance ratios; see `posteriorBelief`. */
const MOST_NODES = 8;

/** The belief of a fit that judges its estimates by one covariance. */
export function singleBelief(
  coefficients: Float64Array,
  covariance: Float64Array,
  { noise, df }: { readonly noise: number; readonly df: number },
): SurfaceBelief {
  const lower = semiDefiniteFactor(covariance, coefficients.length);
  return { df, nodes: [{ weight: 1, coefficients, lower, noise }] };
}

/**
 * The belief of an exact split-plot posterior. Neighbouring ratios are joined to at most eight parts
 * of about equal weight, each with the mean and the spread of its members, so that a probability is
 * had in microseconds.
 *
 * @param kept - positions of the wanted coefficients (block terms are left out)
 * @accuracy predictive probabilities within 1e-3 of the whole mixture (tests/core/surface)
 */
export function posteriorBelief(
  { basis, df, nodes }: SplitPlotPosterior,
  kept: readonly number[],
): SurfaceBelief {
  const members = nodes
    .map((node) => ({
      weight: node.weight,
      coefficients: termCoefficients(basis, node.center, kept),
      covariance: termScale(basis.back.data, node.lower, { kept, variance: node.variance }),
      noise: node.variance * (1 + node.ratios.reduce((sum, ratio) => sum + ratio, 0)),
    }))
    .sort((a, b) => a.noise - b.noise);
  const groups: (typeof members)[] = [];
  let reached = 0;
  for (const member of members) {
    const group = Math.min(MOST_NODES - 1, Math.floor((reached + member.weight / 2) * MOST_NODES));
    const sofar = groups[group] ?? [];
    sofar.push(member);
    groups[group] = sofar;
    reached += member.weight;
  }
  return {
    df,
    nodes: groups.filter((group) => group !== undefined).map((group) => joined(group)),
  };
}

interface Member {
  readonly weight: number;
  readonly coefficients: Float64Array;
  readonly covariance: Float64Array;
  readonly noise: number;
}

/** Mean of the members, their scales and the scatter of their centres about it. */
function joined(members: readonly Member[]): BeliefNode {
  const p = members[0]!.coefficients.length;
  const weight = members.reduce((sum, member) => sum + member.weight, 0);
  const coefficients = new Float64Array(p);
  const covariance = new Float64Array(p * p);
  let noise = 0;
  for (const member of members) {
    const share = member.weight / weight;
    noise += share * member.noise;
    for (let j = 0; j < p; j++) coefficients[j]! += share * member.coefficients[j]!;
    for (let at = 0; at < p * p; at++) covariance[at]! += share * member.covariance[at]!;
  }
  for (const member of members) {
    const share = member.weight / weight;
    const off = member.coefficients.map((value, j) => value - coefficients[j]!);
    for (let i = 0; i < p; i++)
      for (let j = 0; j < p; j++) covariance[i * p + j]! += share * off[i]! * off[j]!;
  }
  return { weight, coefficients, lower: semiDefiniteFactor(covariance, p), noise };
}

function termCoefficients(
  { back, ordinary }: SplitPlotPosterior['basis'],
  center: Float64Array,
  kept: readonly number[],
): Float64Array {
  const p = back.rows;
  return Float64Array.from(kept, (j) => {
    let sum = ordinary[j]!;
    for (let k = j; k < p; k++) sum += back.data[j * p + k]! * center[k]!;
    return sum;
  });
}

/** variance·B(LLᵀ)⁻¹Bᵀ over the kept terms. */
function termScale(
  back: Float64Array,
  lower: Float64Array,
  { kept, variance }: { readonly kept: readonly number[]; readonly variance: number },
): Float64Array {
  const p = Math.round(Math.sqrt(lower.length));
  const inner = choleskyInverse(lower, p);
  const m = kept.length;
  const half = new Float64Array(m * p);
  for (const [a, i] of kept.entries())
    for (let k = 0; k < p; k++) {
      let sum = 0;
      for (let q = i; q < p; q++) sum += back[i * p + q]! * inner[q * p + k]!;
      half[a * p + k] = sum;
    }
  const out = new Float64Array(m * m);
  for (let a = 0; a < m; a++)
    for (const [b, j] of kept.entries()) {
      let sum = 0;
      for (let q = j; q < p; q++) sum += half[a * p + q]! * back[j * p + q]!;
      out[a * m + b] = variance * sum;
    }
  return out;
}

/**
 * Lower factor of a covariance that rounding or an adjustment may have left a hair from definite:
 * its diagonal is then lifted by the smallest power of ten that serves.
 */
export function semiDefiniteFactor(covariance: Float64Array, p: number): Float64Array {
  let largest = 0;
  for (let j = 0; j < p; j++) largest = Math.max(largest, covariance[j * p + j]!);
  if (largest === 0) return new Float64Array(p * p);
  for (let lift = 0; ; lift = lift === 0 ? 1e-14 : lift * 10) {
    const lower = covariance.slice();
    for (let j = 0; j < p; j++) lower[j * p + j]! += lift * largest;
    if (choleskyInto(lower, p) >= 0) continue;
    for (let i = 0; i < p; i++) lower.fill(0, i * p + i + 1, (i + 1) * p);
    return lower;
  }
}

/** Squared scale of the mean along a row of terms, ‖Lᵀx‖². */
export function rowScale({ lower }: BeliefNode, row: Float64Array): number {
  const p = row.length;
  let sum = 0;
  for (let j = 0; j < p; j++) {
    let inner = 0;
    for (let i = j; i < p; i++) inner += lower[i * p + j]! * row[i]!;
    sum += inner * inner;
  }
  return sum;
}

/** One draw of a surface: its coefficients and the variance of a new set-up about them. */
export interface SurfaceDraw {
  readonly coefficients: Float64Array;
  readonly noise: number;
}

/** A surface drawn from what is believed of it; the same source gives the same draws. */
export function surfaceDraw({ df, nodes }: SurfaceBelief, uniform: Uniform): SurfaceDraw {
  const node = pickedNode(nodes, uniform());
  const scale = Number.isFinite(df) ? df / (2 * gammaDraw(df / 2, uniform)) : 1;
  const p = node.coefficients.length;
  const z = Float64Array.from({ length: p }, () => standardNormal(uniform) * Math.sqrt(scale));
  const coefficients = node.coefficients.slice();
  for (let i = 0; i < p; i++)
    for (let j = 0; j <= i; j++) coefficients[i]! += node.lower[i * p + j]! * z[j]!;
  return { coefficients, noise: node.noise * scale };
}

/** The node a number in [0, 1) falls on. */
export function pickedNode(nodes: readonly BeliefNode[], u: number): BeliefNode {
  let left = u;
  for (const node of nodes) {
    left -= node.weight;
    if (left < 0) return node;
  }
  return nodes.at(-1)!;
}

/**
 * Variance from set-up to set-up of a rate of counts that a fit without plots shows: what their
 * scatter exceeds Poisson's by, as a variance of ln rate. With Var y = μ + τμ², the moments give
 * τ = Σ((y − μ)²·n/(n − p) − μ)/Σμ², and ln rate then varies by ln(1 + τ).
 */
export function extraPoissonVariance({ runs, terms }: ResponseFit): number {
  const n = runs.length;
  const spare = n - terms.length;
  if (spare <= 0) return 0;
  let over = 0;
  let squares = 0;
  for (const { observed, fitted } of runs) {
    over += ((observed - fitted) ** 2 * n) / spare - fitted;
    squares += fitted * fitted;
  }
  return squares > 0 ? Math.log1p(Math.max(0, over / squares)) : 0;
}
