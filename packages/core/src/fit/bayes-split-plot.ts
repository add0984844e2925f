import { chiSquaredUpper } from '../distribution/chi-squared.ts';
import { DomainError } from '../error/domain-error.ts';
import { plotBasis } from './plot-basis.ts';
import { type PlotNesting, plotNesting } from './plot-nesting.ts';
import { noVariation, plotRefusal, ROUNDING_SHARE } from './plot-stratum.ts';
import { describeRatioPrior, type RatioPrior, WEAK_RATIO_PRIOR } from './ratio-prior.ts';
import { checkSplitPlotInput, splitPlotWords } from './split-plot.ts';
import {
  combinationPosterior,
  type SplitPlotPosterior,
  type SplitPlotPrior,
  splitPlotPosterior,
} from './split-plot-posterior.ts';
import type { SplitPlotInput, SplitPlotRefusal } from './split-plot-result.ts';
import { mixtureLower, mixtureMoments, mixtureQuantile, type TMixture } from './t-mixture.ts';

export interface BayesSplitPlotInput extends Omit<SplitPlotInput, 'ratioSource'> {
  readonly prior?: SplitPlotPrior;
}

/** Mean, standard deviation and central interval of a posterior or predictive distribution. */
export interface PosteriorSummary {
  readonly mean: number;
  /** Infinite with 2 df or fewer. */
  readonly sd: number;
  readonly low: number;
  readonly high: number;
}

export interface BayesCoefficient extends PosteriorSummary {
  readonly name: string;
  /** Probability that the term is positive. */
  readonly positive: number;
}

export interface BayesVariance {
  readonly name: string;
  readonly mean: number;
  readonly median: number;
  readonly low: number;
  readonly high: number;
}

export interface BayesSplitPlotFit {
  readonly kind: 'fitted';
  readonly coefficients: readonly BayesCoefficient[];
  /** Outermost stratum first, residual last. */
  readonly varianceComponents: readonly BayesVariance[];
  readonly priorWords: string;
  readonly confidence: number;
  readonly posterior: SplitPlotPosterior;
}

export type BayesSplitPlotResult = BayesSplitPlotFit | SplitPlotRefusal;

/**
 * Split-plot model by exact Bayesian calculation: given the variance ratios all is closed form
 * (normal and inverse chi-squared); the ratios are integrated by quadrature. It needs no degrees of
 * freedom among plots, so it still answers where restricted likelihood must refuse.
 *
 * @returns the posterior, or `aliased` or `saturated-within-plots`
 * @throws {DomainError} as `fitSplitPlot`, and `bad_prior`
 * @accuracy moments and limits to 1e-6; tested against adaptive integration with dense matrices
 * @source closed forms: Box & Tiao (1973), Bayesian Inference in Statistical Analysis, chapter 2
 *   (from memory); ratio prior: Gelman (2006), Bayesian Analysis 1, 515–534 (from memory)
 */
export function fitBayesSplitPlot(input: BayesSplitPlotInput): BayesSplitPlotResult {
  checkSplitPlotInput(input);
  const { x, y, weights, strata, prior = {}, confidence = 0.95 } = input;
  const words = splitPlotWords(input);
  const nesting = plotNesting(strata, x.rows);
  const basis = plotBasis(x, y, weights, nesting);
  const refusal = plotRefusal(x, basis, nesting, words, true);
  if (refusal !== undefined) return refusal;
  if (basis.kind === 'aliased') throw new Error('an aliased basis was refused before');
  // Readings alike within plots would make the ratio run off: there is no scale to hold it to.
  if (basis.stratumDf.at(-1)! > 0 && basis.withinShare < ROUNDING_SHARE)
    return noVariation(`reading within ${words.strataNames.at(-1)}`);
  checkPrior(prior, x.cols, nesting);
  const ratioPriors = nesting.groupings.map((_, k) => prior.ratios?.[k] ?? WEAK_RATIO_PRIOR);
  const posterior = splitPlotPosterior(basis, nesting, prior, ratioPriors);
  const components = [...words.strataNames, `within ${words.strataNames.at(-1)}`];
  return {
    kind: 'fitted',
    coefficients: words.names.map((name, j) => {
      const row = new Float64Array(x.cols);
      row[j] = 1;
      const mixture = combinationPosterior(posterior, row);
      const positive = 1 - mixtureLower(mixture, 0);
      return { name, ...summaryOf(mixture, confidence), positive };
    }),
    varianceComponents: components.map((name, k) => varianceOf(name, k, posterior, confidence)),
    priorWords: priorWords(ratioPriors, words.strataNames, prior),
    confidence,
    posterior,
  };
}

/** What a prediction is of. */
export type PredictionTarget =
  /** The model mean, plot effects zero. */
  | { readonly kind: 'mean' }
  /** One reading of weight 1 after a fresh set-up. */
  | { readonly kind: 'new-whole-plot' }
  /** One more reading in a whole plot already run, by the caller's label. */
  | { readonly kind: 'same-whole-plot'; readonly label: number };

/**
 * Posterior of the mean, or predictive distribution of a reading, at one point.
 *
 * @param row - model terms at the point, shape (p)
 * @throws {DomainError} `shape_mismatch` when row has not p entries
 * @throws {DomainError} `unknown_plot` when no whole plot has the label
 */
export function predictBayesSplitPlot(
  fit: BayesSplitPlotFit,
  row: Float64Array,
  target: PredictionTarget,
): PosteriorSummary {
  const { posterior, confidence, coefficients } = fit;
  if (row.length !== coefficients.length) {
    throw new DomainError(
      'shape_mismatch',
      `predictBayesSplitPlot: the point must have one value a term, ${coefficients.length}; got ${row.length}. Build it with the model's own terms.`,
      { got: row.length, expected: coefficients.length },
    );
  }
  if (target.kind !== 'same-whole-plot') {
    return summaryOf(
      combinationPosterior(posterior, row, { isReading: target.kind === 'new-whole-plot' }),
      confidence,
    );
  }
  const plot = posterior.labels.indexOf(target.label);
  if (plot < 0) {
    throw new DomainError(
      'unknown_plot',
      `predictBayesSplitPlot: the whole plot must be one of the fit; got ${target.label}. Use its label in the outermost grouping.`,
      { label: target.label },
    );
  }
  return summaryOf(combinationPosterior(posterior, row, { isReading: true, plot }), confidence);
}

function summaryOf(mixture: TMixture, confidence: number): PosteriorSummary {
  const tail = (1 - confidence) / 2;
  return {
    ...mixtureMoments(mixture),
    low: mixtureQuantile(mixture, tail),
    high: mixtureQuantile(mixture, 1 - tail),
  };
}

/** A variance is a mixture of ratio·(sum of squares)/χ². */
function varianceOf(
  name: string,
  k: number,
  { nodes, df }: SplitPlotPosterior,
  confidence: number,
): BayesVariance {
  const scales = nodes.map(({ ratios, variance }) => (ratios[k] ?? 1) * variance * df);
  const lower = (value: number) =>
    nodes.reduce((sum, { weight }, i) => sum + weight * chiSquaredUpper(scales[i]! / value, df), 0);
  const quantile = (p: number) => {
    let low = Math.log(Math.min(...scales)) - Math.log(df) - 40;
    let high = Math.log(Math.max(...scales)) + 40;
    while (high - low > 1e-9) {
      const middle = (low + high) / 2;
      if (lower(Math.exp(middle)) < p) low = middle;
      else high = middle;
    }
    return Math.exp((low + high) / 2);
  };
  const tail = (1 - confidence) / 2;
  const total = nodes.reduce((sum, { weight }, i) => sum + weight * scales[i]!, 0);
  return {
    name,
    mean: df > 2 ? total / (df - 2) : Number.POSITIVE_INFINITY,
    median: quantile(0.5),
    low: quantile(tail),
    high: quantile(1 - tail),
  };
}

function checkPrior(prior: SplitPlotPrior, p: number, nesting: PlotNesting): void {
  const { ratios, residual, terms } = prior;
  const isBad =
    (ratios !== undefined && ratios.length !== nesting.groupings.length) ||
    (residual !== undefined && !(residual.df > 0 && residual.variance > 0)) ||
    (terms !== undefined &&
      !(
        terms.means.length === p &&
        terms.cells.length === p &&
        terms.means.every(Number.isFinite) &&
        terms.cells.every((cells) => cells >= 0)
      ));
  if (!isBad) return;
  throw new DomainError(
    'bad_prior',
    `fitBayesSplitPlot: a prior must have one ratio a stratum (${nesting.groupings.length}), a positive df and variance, and a mean and a number of cells of at least 0 for each of ${p} terms; got ${ratios?.length ?? 'no'} ratios, df ${residual?.df ?? 'none'}, ${terms?.means.length ?? 'no'} terms. Mend or leave out the part.`,
    { terms: p, strata: nesting.groupings.length },
  );
}

function priorWords(
  ratios: readonly RatioPrior[],
  names: readonly string[],
  { residual, terms }: SplitPlotPrior,
): string {
  const parts = ratios.map(
    (prior, k) => `SD of ${names[k]} over SD of a reading: ${describeRatioPrior(prior)}`,
  );
  parts.push(
    residual
      ? `residual variance: as if ${residual.df} df had given ${residual.variance}`
      : 'residual variance: flat on its logarithm',
  );
  const carried = terms?.cells.filter((cells) => cells > 0).length ?? 0;
  parts.push(carried === 0 ? 'terms: flat' : `${carried} terms carried over`);
  return `${parts.join('; ')}.`;
}
