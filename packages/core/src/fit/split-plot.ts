import { DomainError } from '../error/domain-error.ts';
import type { Dense } from '../linear/dense.ts';
import { type PlotBasis, plotBasis } from './plot-basis.ts';
import { type PlotNesting, plotNesting } from './plot-nesting.ts';
import { type PlotWords, plotRefusal, stratumSummaries } from './plot-stratum.ts';
import { pureErrorSource } from './pure-error.ts';
import { type RemlCriterion, type RemlState, remlCriterion } from './reml.ts';
import { remlMaximum } from './reml-maximum.ts';
import {
  covarianceInTerms,
  plotEffects,
  restrictedLogLikelihood,
  splitPlotCoefficients,
  splitPlotInference,
  splitPlotRemarks,
} from './split-plot-assembly.ts';
import type {
  RatioSource,
  SplitPlotFit,
  SplitPlotInput,
  SplitPlotRefusal,
  SplitPlotResult,
  VarianceSource,
} from './split-plot-result.ts';
import { varianceComponents } from './variance-component.ts';
import { varianceCovariance } from './variance-information.ts';

/**
 * A model whose runs come in plots: y = Xb + plot effects + error, by restricted maximum likelihood
 * and generalised least squares, judged after Kenward and Roger.
 *
 * Terms set once a plot are judged against the variation between plots. Ratios may also be given,
 * or taken from the full treatment model where settings are replicated; then the covariance of
 * the variances in the adjustment is that of the treatment model.
 *
 * @returns the fit, or a refusal by name: aliased terms, one whole plot, no degrees of freedom
 *   left among plots or within them, no residual variation
 * @throws {DomainError} `shape_mismatch`, `not_finite`, `bad_weight`, `stratum_count`,
 *   `bad_confidence` or `bad_ratio` when the input breaks its contract
 * @accuracy tested against lme4 and pbkrtest: variances and errors to 1e-5 relative, df to 1e-3
 * @source Kenward & Roger (1997), Biometrics 53, 983–997 (from memory); `pureErrorSource` names its own
 */
export function fitSplitPlot(input: SplitPlotInput): SplitPlotResult {
  checkSplitPlotInput(input);
  const nesting = plotNesting(input.strata, input.x.rows);
  const words = splitPlotWords(input);
  const source = input.ratioSource ?? { kind: 'reml' };
  const basis = plotBasis(input.x, input.y, input.weights, nesting);
  const isRatioGiven = source.kind !== 'reml';
  const refusal = plotRefusal(input.x, basis, nesting, words, isRatioGiven);
  if (refusal !== undefined) return refusal;
  const criterion = remlCriterion(fullRank(basis).sums);
  const setting = { input, nesting, words, basis: fullRank(basis), criterion };
  const solved = solve(setting, source);
  return 'words' in solved ? solved : assemble(setting, solved);
}

interface Setting {
  readonly input: SplitPlotInput;
  readonly nesting: PlotNesting;
  readonly words: PlotWords;
  readonly basis: Extract<PlotBasis, { kind: 'full-rank' }>;
  readonly criterion: RemlCriterion;
}

interface Solved {
  readonly method: SplitPlotFit['method'];
  readonly state: RemlState;
  /** The model the variances were estimated from; the same one unless they are pure error. */
  readonly source: VarianceSource;
}

function solve(setting: Setting, source: RatioSource): Solved | SplitPlotRefusal {
  const { input, nesting, words, criterion } = setting;
  const strata = nesting.groupings.length;
  const { stratumDf } = setting.basis;
  switch (source.kind) {
    case 'reml': {
      const state = remlMaximum(criterion, setting.basis.sums);
      return { method: 'reml', state, source: { state, criterion, stratumDf } };
    }
    case 'known-ratio': {
      const state = criterion.state(checkedRatios(source.ratios, strata));
      return { method: 'known-ratio', state, source: { state, criterion, stratumDf } };
    }
    case 'pure-error': {
      checkLength(source.treatments.length, input.x.rows, 'treatments');
      const found = pureErrorSource(input, source.treatments, nesting, words);
      if ('words' in found) return found;
      const state = criterion.state(found.state.ratios);
      return { method: 'pure-error-reml', state, source: found };
    }
  }
}

function assemble(setting: Setting, { method, state, source }: Solved): SplitPlotFit {
  const { input, nesting, words, basis } = setting;
  const { x, y, confidence = 0.95 } = input;
  const isEstimated = method !== 'known-ratio';
  const variance = source.state.squares / (source.state.data.rows - source.state.data.cols);
  const covariance = isEstimated ? varianceCovariance(source.state) : undefined;
  const inference = splitPlotInference(basis, state, variance, covariance);
  const strata = stratumSummaries(x, source.stratumDf, nesting, words);
  const names = [...words.strataNames, `within ${words.strataNames.at(-1)}`];
  const components = varianceComponents(names, source.state, source.criterion, {
    confidence,
    isEstimated,
  });
  const coefficients = splitPlotCoefficients(x, words.names, inference, nesting, confidence);
  const fitted = product(x, inference.estimates);
  return {
    kind: 'fitted',
    method,
    coefficients,
    glsCovariance: covarianceInTerms(state.phi, inference),
    adjustedCovariance: covarianceInTerms(inference.adjusted, inference),
    varianceComponents: components,
    strata,
    plotEffects: plotEffects(inference, nesting),
    fitted,
    residuals: y.map((value, i) => value - fitted[i]!),
    restrictedLogLikelihood: restrictedLogLikelihood(basis, state, variance),
    remarks: splitPlotRemarks(components, strata, coefficients),
    confidence,
    inference,
  };
}

function fullRank(basis: PlotBasis): Extract<PlotBasis, { kind: 'full-rank' }> {
  if (basis.kind === 'full-rank') return basis;
  throw new Error('an aliased basis was refused before');
}

function product({ rows: n, cols: p, data }: Dense, b: Float64Array): Float64Array {
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) for (let j = 0; j < p; j++) out[i]! += data[i * p + j]! * b[j]!;
  return out;
}

/** Names of terms and strata, as given or by default. */
export function splitPlotWords({ x, names, strata, strataNames }: SplitPlotInput): PlotWords {
  const usual = strata.length === 1 ? ['whole plots'] : ['whole plots', 'sub-whole plots'];
  return {
    names: Array.from({ length: x.cols }, (_, j) => names?.[j] ?? `term ${j + 1}`),
    strataNames: usual.map((name, k) => strataNames?.[k] ?? name),
  };
}

/** Refuses inputs of a nested fit whose shapes or values break the contract. */
export function checkSplitPlotInput({ x, y, weights, confidence = 0.95 }: SplitPlotInput): void {
  checkLength(y.length, x.rows, 'responses');
  if (weights !== undefined) checkLength(weights.length, x.rows, 'weights');
  for (const [i, value] of y.entries()) {
    if (!Number.isFinite(value)) {
      throw new DomainError(
        'not_finite',
        `fitSplitPlot: every response must be finite; got ${value} (row ${i}). Leave out runs without a reading.`,
        { row: i },
      );
    }
  }
  for (const [i, value] of weights?.entries() ?? []) {
    if (!(value > 0 && Number.isFinite(value))) {
      throw new DomainError(
        'bad_weight',
        `fitSplitPlot: a weight must be positive; got ${value} (row ${i}). Leave out runs that carry no information.`,
        { row: i, got: value },
      );
    }
  }
  if (!(confidence > 0 && confidence < 1)) {
    throw new DomainError(
      'bad_confidence',
      `fitSplitPlot: confidence must lie between 0 and 1; got ${confidence}. Use 0.95 for 95 %.`,
      { confidence },
    );
  }
}

function checkLength(got: number, expected: number, what: string): void {
  if (got === expected) return;
  throw new DomainError(
    'shape_mismatch',
    `fitSplitPlot: there must be ${expected} ${what}, one a row; got ${got}. Check that all columns come from the same runs.`,
    { got, expected },
  );
}

function checkedRatios(ratios: readonly number[], strata: number): readonly number[] {
  if (ratios.length === strata && ratios.every((ratio) => ratio >= 0 && Number.isFinite(ratio)))
    return ratios;
  throw new DomainError(
    'bad_ratio',
    `fitSplitPlot: known ratios must be ${strata} numbers of at least 0; got [${ratios.join(', ')}]. Give one a stratum, outermost first.`,
    { ratios, strata },
  );
}
