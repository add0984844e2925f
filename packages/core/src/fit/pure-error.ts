import { fullTreatmentModel } from './full-treatment-model.ts';
import { type PlotBasis, plotBasis } from './plot-basis.ts';
import type { PlotNesting } from './plot-nesting.ts';
import { type PlotWords, plotRefusal } from './plot-stratum.ts';
import { remlCriterion } from './reml.ts';
import { remlMaximum } from './reml-maximum.ts';
import type { SplitPlotInput, SplitPlotRefusal, VarianceSource } from './split-plot-result.ts';

/**
 * Variances from the full treatment model, one mean for each setting, by its own restricted
 * likelihood. Only differences between runs at one setting enter, so that no shape of the response
 * can: any function of the settings added to the readings leaves the variances as they are.
 *
 * The model itself is then fitted by generalised least squares at these variances, and judged by
 * their own covariance in the adjustment of Kenward and Roger: its df are those of the repeats.
 *
 * @param treatments - equal settings of all factors share a label, shape (n)
 * @returns the source, or why these runs repeat too little
 * @source Gilmour, Goos & Großmann (2025): variances from the full treatment model, generalised
 *   least squares for the response surface, Kenward and Roger's adjustment with the former's
 *   information (from memory; variances, errors and df tested against lme4 with the adjustment
 *   written out in matrices)
 */
export function pureErrorSource(
  { x, y, weights }: SplitPlotInput,
  treatments: Int32Array,
  nesting: PlotNesting,
  words: PlotWords,
): VarianceSource | SplitPlotRefusal {
  const full = fullTreatmentModel(x, treatments);
  const basis = plotBasis(full.x, y, weights, nesting);
  const names = Array.from({ length: full.x.cols }, (_, j) => words.names[j] ?? 'a setting');
  const refusal = plotRefusal(full.x, basis, nesting, { ...words, names }, false);
  if (refusal !== undefined) return inRepeats(refusal, words.strataNames);
  const { sums, stratumDf } = fullRank(basis);
  const criterion = remlCriterion(sums);
  return { state: remlMaximum(criterion, sums), criterion, stratumDf };
}

/** A refusal of the treatment model in words about repeats. */
function inRepeats(refusal: SplitPlotRefusal, names: readonly string[]): SplitPlotRefusal {
  switch (refusal.kind) {
    case 'too-few-whole-plots':
      return {
        ...refusal,
        words: `No settings were repeated in several ${names[refusal.stratum]} in a way that leaves df among them: pure error cannot tell their variation. Make a plot of settings already run once more.`,
      };
    case 'saturated-within-plots':
      return {
        ...refusal,
        words: `No settings were repeated in a way that leaves df within ${names.at(-1)}: pure error cannot tell the variation there. Repeat a run.`,
      };
    default:
      return refusal;
  }
}

function fullRank(basis: PlotBasis): Extract<PlotBasis, { kind: 'full-rank' }> {
  if (basis.kind === 'full-rank') return basis;
  throw new Error('an aliased basis was refused before');
}
