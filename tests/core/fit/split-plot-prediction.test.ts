import { fitSplitPlot, splitPlotPrediction } from '@strandwise/core';
import { describe, expect, it } from 'vitest';

/** Five whole plots of three readings; a mean and nothing else. */
const y = [12, 13, 11, 18, 19, 17, 9, 8, 10, 15, 15, 16, 14, 12, 13];
const [plots, each] = [5, 3];

function meanSquares() {
  const mean = y.reduce((sum, value) => sum + value, 0) / y.length;
  let between = 0;
  let within = 0;
  for (let g = 0; g < plots; g++) {
    const own = y.slice(g * each, (g + 1) * each);
    const ownMean = own.reduce((sum, value) => sum + value, 0) / each;
    between += each * (ownMean - mean) ** 2;
    within += own.reduce((sum, value) => sum + (value - ownMean) ** 2, 0);
  }
  return { mean, between: between / (plots - 1), within: within / (plots * (each - 1)) };
}

describe('splitPlotPrediction', () => {
  const fit = fitSplitPlot({
    x: { rows: 15, cols: 1, data: new Float64Array(15).fill(1) },
    y: Float64Array.from(y),
    strata: [Int32Array.from(y, (_, i) => Math.floor(i / each))],
  });
  if (fit.kind !== 'fitted') throw new Error(fit.words);

  it('rests on mean squares in a balanced layout (closed form)', () => {
    const { mean, between, within } = meanSquares();
    const got = splitPlotPrediction(fit, Float64Array.of(1));
    expect(got.estimate).toBeCloseTo(mean, 12);
    expect(got.standardError).toBeCloseTo(Math.sqrt(between / y.length), 8);
    expect(got.df).toBeCloseTo(plots - 1, 6);
    // MSB/(gn) + (MSB − MSE)/n + MSE, and Satterthwaite's df of that sum of mean squares.
    const ofBetween = between * (1 / y.length + 1 / each);
    const ofWithin = within * (1 - 1 / each);
    expect(got.newPlotSd).toBeCloseTo(Math.sqrt(ofBetween + ofWithin), 8);
    const df =
      (ofBetween + ofWithin) ** 2 /
      (ofBetween ** 2 / (plots - 1) + ofWithin ** 2 / (plots * (each - 1)));
    expect(got.newPlotDf).toBeCloseTo(df, 6);
    expect(got.newPlot[0]).toBeLessThan(got.confidence[0]);
  });

  it('throws shape_mismatch when the point has too many terms', () => {
    expect(() => splitPlotPrediction(fit, Float64Array.of(1, 2))).toThrowError(
      expect.objectContaining({ code: 'shape_mismatch' }),
    );
  });
});
