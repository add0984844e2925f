import { fitBayesSplitPlot } from '../bayes-split-plot.ts';
import { several } from '../plot-name.ts';
import { DOUBTFUL_RATIO_PRIOR } from '../ratio-prior.ts';
import { fitSplitPlot } from '../split-plot.ts';
import type { SplitPlotInput, SplitPlotResult } from '../split-plot-result.ts';
import { type CarriedPrior, priorFor } from './carried-prior.ts';
import type { SensitivityRow, VarianceEstimator, VarianceSensitivity } from './fit-result.ts';
import { finiteOrNull } from './prepared.ts';

/** With fewer df than this among plots, restricted likelihood too often puts their variance at zero. */
const LEAST_PLOT_DF = 5;

/** Interval widths that differ by less than this ratio tell a reader the same. */
const SAME_WIDTH = 1.25;

/**
 * One response judged by every estimate of the variance between plots: restricted likelihood, the
 * ratio fixed at 1, pure error where settings of whole plots were repeated, and the exact Bayesian
 * fit. Which of them to judge by depends on how much the plots can say; how much the answer depends
 * on that choice is part of the answer.
 *
 * @param input - the nested fit, restricted likelihood as its source
 * @param reml - its result
 * @param treatments - equal settings share a label, shape (n)
 * @source why restricted likelihood misleads with few plots: Gilmour & Goos (2009), Analysis of data
 *   from non-orthogonal multistratum designs in industrial experiments, Appl. Statist. 58, 467–484
 *   (the idea only)
 */
export function varianceSensitivity(
  input: SplitPlotInput,
  reml: SplitPlotResult,
  treatments: Int32Array,
  carried?: CarriedPrior,
): VarianceSensitivity {
  const ratios = input.strata.map(() => 1);
  const fixed = fitSplitPlot({ ...input, ratioSource: { kind: 'known-ratio', ratios } });
  const pure = fitSplitPlot({ ...input, ratioSource: { kind: 'pure-error', treatments } });
  const prior = priorFor(carried, input.strataNames ?? []);
  const bayes = fitBayesSplitPlot({ ...input, ...(prior ? { prior } : {}) });
  const other = fitBayesSplitPlot({
    ...input,
    ...(prior ? {} : { prior: { ratios: input.strata.map(() => DOUBTFUL_RATIO_PRIOR) } }),
  });
  const otherRow = bayesRow(other, prior ? 'Bayesian, weak prior' : 'Bayesian, wider prior');
  const rows = [
    likelihoodRow('restricted likelihood', reml),
    likelihoodRow('ratio fixed at 1', fixed),
    likelihoodRow('pure error', pure),
    bayesRow(bayes, 'Bayesian'),
  ];
  const { judgedBy, why } = choice(reml, bayes.kind === 'fitted', prior && carried);
  return {
    judgedBy,
    why,
    prior: bayes.kind === 'fitted' ? priorText(bayes.priorWords, prior && carried) : null,
    priorSays: priorDependence(rows.at(-1)!, otherRow),
    says: dependence(rows, judgedBy),
    rows: [...rows, otherRow],
  };
}

const priorText = (words: string, carried: CarriedPrior | undefined): string =>
  carried ? `${words} Carried from ${carried.from}.` : words;

function choice(
  reml: SplitPlotResult,
  hasBayes: boolean,
  carried: CarriedPrior | undefined,
): { judgedBy: VarianceEstimator; why: string } {
  const plain = 'restricted likelihood' as const;
  if (!hasBayes) return { judgedBy: plain, why: 'nothing else can judge these runs' };
  const by = (why: string) => ({ judgedBy: 'Bayesian' as const, why });
  if (reml.kind !== 'fitted') return by('restricted likelihood cannot judge these plots');
  const zero = reml.varianceComponents.filter(({ isAtBoundary }) => isAtBoundary);
  if (zero.length > 0)
    return by(
      `restricted likelihood puts the variance among ${zero.map(({ name }) => several(name)).join(' and ')} at zero, as it often does with few plots`,
    );
  const few = reml.strata.find(
    ({ df, terms }, k) => k < reml.strata.length - 1 && terms.length > 0 && df < LEAST_PLOT_DF,
  );
  if (few) return by(`${few.words}, which is few for an estimate of their variance`);
  if (carried) return by(`a prior was carried from ${carried.from}`);
  return { judgedBy: plain, why: 'the plots leave enough df to judge by' };
}

function likelihoodRow(estimator: VarianceEstimator, result: SplitPlotResult): SensitivityRow {
  if (result.kind !== 'fitted') return { estimator, says: result.words, components: [], terms: [] };
  return {
    estimator,
    says: null,
    components: result.varianceComponents.map(({ name, standardDeviation }) => ({
      name,
      standardDeviation,
    })),
    terms: result.coefficients.map(({ name, estimate, standardError, df, low, high }) => ({
      name,
      estimate,
      standardError,
      df: finiteOrNull(df),
      low: finiteOrNull(low),
      high: finiteOrNull(high),
    })),
  };
}

/** Medians stand for the variances; a term's error is the SD of its posterior. */
function bayesRow(
  result: ReturnType<typeof fitBayesSplitPlot>,
  estimator: VarianceEstimator,
): SensitivityRow {
  if (result.kind !== 'fitted') return { estimator, says: result.words, components: [], terms: [] };
  return {
    estimator,
    says: null,
    components: result.varianceComponents.map(({ name, median }) => ({
      name,
      standardDeviation: Math.sqrt(median),
    })),
    terms: result.coefficients.map(({ name, mean, sd, low, high }) => ({
      name,
      estimate: mean,
      standardError: finiteOrNull(sd),
      df: null,
      low: finiteOrNull(low),
      high: finiteOrNull(high),
    })),
  };
}

type Interval = { readonly low: number; readonly high: number };

/** How much the intervals of the terms change from one estimate of the variances to another. */
function dependence(rows: readonly SensitivityRow[], judgedBy: VarianceEstimator): string {
  const told = rows.filter(({ terms }) => terms.length > 0);
  const chosen = told.find(({ estimator }) => estimator === judgedBy);
  if (!chosen || told.length < 2) return 'There is nothing to compare this judgement with.';
  const changed: string[] = [];
  let widest = { ratio: 1, name: '', estimator: '' };
  for (const [j, term] of chosen.terms.entries()) {
    if (j === 0) continue;
    const own = intervalOf(term);
    if (!own) continue;
    const others = told.flatMap((row) => {
      const interval = row === chosen ? null : intervalOf(row.terms[j]!);
      return interval ? [{ estimator: row.estimator, interval }] : [];
    });
    if (others.some(({ interval }) => isClear(interval) !== isClear(own))) changed.push(term.name);
    for (const { estimator, interval } of others) {
      const ratio = width(interval) / width(own);
      if (Math.max(ratio, 1 / ratio) > Math.max(widest.ratio, 1 / widest.ratio))
        widest = { ratio, name: term.name, estimator };
    }
  }
  const size = Math.max(widest.ratio, 1 / widest.ratio);
  const most =
    size < SAME_WIDTH
      ? 'Every other estimate gives intervals of about the same width.'
      : `Most it changes ${widest.name}: by ${widest.estimator} its interval is ${widest.ratio > 1 ? `${size.toFixed(1)} times as wide` : `${(100 / size).toFixed(0)} % as wide`}.`;
  const verdict =
    changed.length === 0
      ? 'Which terms are clear of zero does not depend on it.'
      : `Whether ${listed(changed)} ${changed.length === 1 ? 'is' : 'are'} clear of zero depends on it.`;
  return `${verdict} ${most}`;
}

/** How much the Bayesian reading changes with what was held before the data; null when it refused. */
function priorDependence(own: SensitivityRow, other: SensitivityRow): string | null {
  if (own.terms.length === 0 || other.terms.length === 0) return null;
  const under =
    other.estimator === 'Bayesian, weak prior'
      ? 'Under the weak prior instead of the carried one'
      : 'Had plots been held to differ three times as much before the data';
  return `${under}: ${lowered(dependence([own, other], own.estimator))}`;
}

const lowered = (says: string): string =>
  `${says.charAt(0).toLowerCase()}${says.slice(1)}`.replaceAll(
    /by Bayesian, \w+ prior its/g,
    'then its',
  );

function intervalOf({ low, high }: { low: number | null; high: number | null }): Interval | null {
  return low === null || high === null ? null : { low, high };
}

const isClear = ({ low, high }: Interval): boolean => low * high > 0;
const width = ({ low, high }: Interval): number => high - low;

function listed(names: readonly string[]): string {
  const shown = names.length > 4 ? [...names.slice(0, 3), `${names.length - 3} more`] : names;
  return shown.length === 1 ? shown[0]! : `${shown.slice(0, -1).join(', ')} and ${shown.at(-1)}`;
}
