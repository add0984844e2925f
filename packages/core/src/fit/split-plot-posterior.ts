import { choleskyInto, forwardSolveInto } from '../linear/cholesky.ts';
import type { PlotBasis } from './plot-basis.ts';
import type { PlotNesting } from './plot-nesting.ts';
import { emptyWhitening, type PlotWhitening, whitenInto } from './plot-whitening.ts';
import { logRatioDensity, type RatioPrior } from './ratio-prior.ts';
import { ratioNodes } from './ratio-quadrature.ts';
import type { TMixture } from './t-mixture.ts';

type FullRank = Extract<PlotBasis, { kind: 'full-rank' }>;

/** What is held before the data; everything left out is as flat as can be. */
export interface SplitPlotPrior {
  /** One a stratum, outermost first; half-Cauchy with median 1 by default. */
  readonly ratios?: readonly RatioPrior[];
  /** Residual variance carried over: scaled inverse chi-squared. */
  readonly residual?: { readonly df: number; readonly variance: number };
  /**
   * Terms carried over: their means and how many cells at ±1 each is worth, 0 for nothing; the
   * prior variance of a term is the residual variance over that number.
   */
  readonly terms?: { readonly means: Float64Array; readonly cells: Float64Array };
}

/** The exact posterior as a mixture over ratios. */
export interface SplitPlotPosterior {
  readonly basis: FullRank;
  /** The caller's labels of the outermost plots. */
  readonly labels: Int32Array;
  readonly df: number;
  readonly nodes: readonly PosteriorNode[];
}

/** The posterior at one set of ratios. */
export interface PosteriorNode {
  readonly weight: number;
  readonly ratios: readonly number[];
  /** Squared scale of a reading: sum of squares over df. */
  readonly variance: number;
  /** Shift of the basis coefficients from ordinary least squares, shape (p). */
  readonly center: Float64Array;
  /** Cholesky factor of their precision over the residual's, shape (p, p). */
  readonly lower: Float64Array;
}

/** Integrates the ratios; see `fitBayesSplitPlot`. */
export function splitPlotPosterior(
  basis: FullRank,
  nesting: PlotNesting,
  prior: SplitPlotPrior,
  ratioPriors: readonly RatioPrior[],
): SplitPlotPosterior {
  const carried = prior.terms?.cells.reduce((count, cells) => count + (cells > 0 ? 1 : 0), 0) ?? 0;
  const df = basis.sums.rows - basis.sums.cols + carried + (prior.residual?.df ?? 0);
  const extra = carriedOver(basis, prior);
  const white = emptyWhitening(basis.sums);
  const p = basis.sums.cols;
  const factor = (logRatios: readonly number[]) => {
    const ratios = logRatios.map((u) => Math.exp(2 * u));
    const logV = whitenInto(white, basis.sums, ratios[0]!, ratios[1] ?? 0);
    const { cross } = white;
    for (let at = 0; at < cross.length; at++) cross[at]! += extra[at]!;
    const squares = borderedFactor(cross, p);
    return { ratios, logV, squares };
  };
  const nodes = ratioNodes(nesting.groupings.length === 1 ? 1 : 2, (logRatios) => {
    const { logV, squares } = factor(logRatios);
    let log = -logV / 2 - (df / 2) * Math.log(squares);
    for (let j = 0; j < p; j++) log -= Math.log(white.cross[j * (p + 1) + j]!);
    for (const [k, u] of logRatios.entries()) log += logRatioDensity(ratioPriors[k]!, u);
    return log;
  });
  return {
    basis,
    labels: nesting.groupings[0]!.labels,
    df,
    nodes: nodes.map(({ logRatios, weight }) => {
      const { ratios, squares } = factor(logRatios);
      return { weight, ratios, variance: squares / df, ...solution(white, p) };
    }),
  };
}

/** What a prior adds to the bordered normal equations, lower triangle, shape (p + 1, p + 1). */
function carriedOver({ back, ordinary }: FullRank, { terms, residual }: SplitPlotPrior) {
  const p = back.rows;
  const width = p + 1;
  const extra = new Float64Array(width * width);
  if (residual) extra[p * width + p] = residual.df * residual.variance;
  if (!terms) return extra;
  for (let j = 0; j < p; j++) {
    const cells = terms.cells[j]!;
    if (cells === 0) continue;
    const row = back.data.subarray(j * p, (j + 1) * p);
    const shift = terms.means[j]! - ordinary[j]!;
    for (let a = 0; a < p; a++) {
      for (let b = 0; b <= a; b++) extra[a * width + b]! += cells * row[a]! * row[b]!;
      extra[p * width + a]! += cells * row[a]! * shift;
    }
    extra[p * width + p]! += cells * shift * shift;
  }
  return extra;
}

/** Factors the bordered matrix in place; its last pivot squared is the sum of squares. */
function borderedFactor(cross: Float64Array, p: number): number {
  const width = p + 1;
  const corner = cross[p * width + p]!;
  if (choleskyInto(cross, width) < 0) return cross[p * width + p]! ** 2;
  let squares = corner;
  for (let j = 0; j < p; j++) squares -= cross[p * width + j]! ** 2;
  return Math.max(squares, Number.MIN_VALUE);
}

function solution({ cross }: PlotWhitening, p: number) {
  const width = p + 1;
  const lower = new Float64Array(p * p);
  const center = cross.slice(p * width, p * width + p);
  for (let i = 0; i < p; i++) for (let j = 0; j <= i; j++) lower[i * p + j] = cross[i * width + j]!;
  for (let i = p - 1; i >= 0; i--) {
    const z = center[i]! / lower[i * p + i]!;
    center[i] = z;
    for (let k = 0; k < i; k++) center[k]! -= lower[i * p + k]! * z;
  }
  return { center, lower };
}

/**
 * Posterior of one combination of the terms; or of a reading there, in a fresh whole plot or in one
 * already run, whose effect r·zᵀV⁻¹(y − Xb) has the variance r − r²·zᵀV⁻¹z left.
 *
 * @param row - combination, shape (p)
 */
export function combinationPosterior(
  { basis, df, nodes }: SplitPlotPosterior,
  row: Float64Array,
  { isReading = false, plot }: { readonly isReading?: boolean; readonly plot?: number } = {},
): TMixture {
  const p = row.length;
  const inBasis = new Float64Array(p);
  let ordinary = 0;
  for (let j = 0; j < p; j++) {
    ordinary += row[j]! * basis.ordinary[j]!;
    for (let k = j; k < p; k++) inBasis[k]! += row[j]! * basis.back.data[j * p + k]!;
  }
  const white = emptyWhitening(basis.sums);
  const centers = new Float64Array(nodes.length);
  const squaredScales = new Float64Array(nodes.length);
  for (const [i, { ratios, variance, center, lower }] of nodes.entries()) {
    const l = inBasis.slice();
    let spread = isReading ? 1 + (ratios[1] ?? 0) + ratios[0]! : 0;
    let mean = ordinary;
    if (plot !== undefined) {
      whitenInto(white, basis.sums, ratios[0]!, ratios[1] ?? 0);
      const shrink = ratios[0]! * white.outerShrink[plot]!;
      const from = plot * (p + 1);
      for (let j = 0; j < p; j++) l[j]! -= shrink * white.outerSums[from + j]!;
      mean += shrink * white.outerSums[from + p]!;
      spread -= ratios[0]! * shrink * white.outerSize[plot]!;
    }
    for (let j = 0; j < p; j++) mean += l[j]! * center[j]!;
    forwardSolveInto(l, lower, p);
    for (let j = 0; j < p; j++) spread += l[j]! * l[j]!;
    centers[i] = mean;
    squaredScales[i] = variance * spread;
  }
  return { df, weights: Float64Array.from(nodes, ({ weight }) => weight), centers, squaredScales };
}
