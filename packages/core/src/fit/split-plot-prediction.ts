import { tUpperQuantile } from '../distribution/student-t.ts';
import { DomainError } from '../error/domain-error.ts';
import { varianceDf, varianceSlopes } from './satterthwaite.ts';
import { quadraticForm } from './split-plot-assembly.ts';
import type { SplitPlotFit } from './split-plot-result.ts';

/** What a split-plot model says of one point. */
export interface SplitPlotPrediction {
  readonly estimate: number;
  /** Of the mean at the point, adjusted after Kenward and Roger. */
  readonly standardError: number;
  readonly df: number;
  /** Where the mean response lies. */
  readonly confidence: readonly [low: number, high: number];
  /** Standard deviation of one reading after a fresh set-up about the estimate. */
  readonly newPlotSd: number;
  readonly newPlotDf: number;
  /** Where one reading after a fresh set-up will fall. */
  readonly newPlot: readonly [low: number, high: number];
}

/**
 * Mean at one point, and a reading of a new whole plot there: xᵀb ± t·√(xᵀCx + Σσ²), its df those
 * of the chi-squared with the mean and variance of the estimated total (Satterthwaite).
 *
 * @param row - model terms at the point, shape (p)
 * @param weight - of the new reading, on the scale of the fit's weights
 * @throws {DomainError} `shape_mismatch` when row has not p entries
 * @source Satterthwaite (1946), Biometrics Bulletin 2, 110–114 (from memory)
 */
export function splitPlotPrediction(
  { inference, confidence }: SplitPlotFit,
  row: Float64Array,
  weight = 1,
): SplitPlotPrediction {
  const { state, back, estimates, adjusted, variance, expected, residualDf } = inference;
  const p = estimates.length;
  if (row.length !== p) {
    throw new DomainError(
      'shape_mismatch',
      `splitPlotPrediction: the point must have one value a term, ${p}; got ${row.length}. Build it with the model's own terms.`,
      { got: row.length, expected: p },
    );
  }
  const l = new Float64Array(p);
  let estimate = 0;
  for (let j = 0; j < p; j++) {
    estimate += row[j]! * estimates[j]!;
    for (let k = j; k < p; k++) l[k]! += row[j]! * back.data[j * p + k]!;
  }
  const { value, slopes } = varianceSlopes(state, l);
  const spread = state.ratios.reduce((sum, ratio) => sum + ratio, 1 / weight);
  // The total variance grows by 1 (1/weight) with each component besides through the mean's own.
  const totalSlopes = slopes.map((slope, i) => slope + (i === 0 ? 1 / weight : 1));
  const df = expected === undefined ? residualDf : varianceDf(value, slopes, expected);
  const newPlotDf =
    expected === undefined ? residualDf : varianceDf(value + spread, totalSlopes, expected);
  const ofMean = variance * quadraticForm(l, adjusted);
  const standardError = Math.sqrt(ofMean);
  const newPlotSd = Math.sqrt(ofMean + variance * spread);
  const tail = (1 - confidence) / 2;
  const half = tUpperQuantile(tail, df) * standardError;
  const wide = tUpperQuantile(tail, newPlotDf) * newPlotSd;
  return {
    estimate,
    standardError,
    df,
    confidence: [estimate - half, estimate + half],
    newPlotSd,
    newPlotDf,
    newPlot: [estimate - wide, estimate + wide],
  };
}
