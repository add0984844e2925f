import {
  cellInfluences,
  type Dense,
  fitPoissonMixed,
  fitSplitPlot,
  fittedRows,
  leastSquares,
  leftOutCoefficients,
  predictorOf,
  recommendation,
  studySpec,
  studyTable,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { fitsOf, inventedStudy } from './invented-study.ts';

/** Rows of a matrix but one. */
function without({ rows, cols, data }: Dense, gone: number): Dense {
  const out = new Float64Array((rows - 1) * cols);
  for (let i = 0, to = 0; i < rows; i++) {
    if (i === gone) continue;
    out.set(data.subarray(i * cols, (i + 1) * cols), to);
    to += cols;
  }
  return { rows: rows - 1, cols, data: out };
}
const others = <T extends Float64Array | Int32Array>(values: T, gone: number): T =>
  values.filter((_, i) => i !== gone) as T;

function fitAndRows(study: Parameters<typeof inventedStudy>[0], name: string) {
  const state = inventedStudy(study);
  const fit = fitsOf(state).responses.find((each) => each.name === name)!;
  return { fit, rows: fittedRows(fit, { spec: studySpec(state), table: studyTable(state) }) };
}

describe('leftOutCoefficients', () => {
  it('equals a weighted least-squares fit without the run', () => {
    const { fit, rows } = fitAndRows({}, 'SD of diameter');
    expect(fit.method).toBe('weighted least squares');
    const found = leftOutCoefficients(fit, rows);
    expect(found.length).toBeGreaterThan(15);
    for (const { row, coefficients } of found) {
      const i = rows.rows.indexOf(row);
      const again = leastSquares({
        x: without(rows.x, i),
        y: others(rows.y, i),
        weights: others(rows.weights!, i),
      });
      if (again.kind === 'aliased') throw new Error(again.kind);
      for (const [j, value] of coefficients.entries())
        expect(Math.abs(value - again.coefficients[j]!)).toBeLessThan(1e-8);
    }
  });

  it('equals a split-plot fit without the run at the same variance ratio', () => {
    const { fit, rows } = fitAndRows({ plotCells: 3, plotSd: 0.2, repeats: 2 }, 'SD of diameter');
    expect(fit.method).toBe('restricted maximum likelihood');
    const [plot, residual] = fit.varianceComponents;
    const ratios = [plot!.variance / residual!.variance];
    for (const { row, coefficients } of leftOutCoefficients(fit, rows)) {
      const i = rows.rows.indexOf(row);
      const again = fitSplitPlot({
        x: without(rows.x, i),
        y: others(rows.y, i),
        weights: others(rows.weights!, i),
        strata: rows.strata.map((labels) => others(labels, i)),
        ratioSource: { kind: 'known-ratio', ratios },
      });
      if (again.kind !== 'fitted') throw new Error(again.kind);
      for (const [j, value] of coefficients.entries())
        expect(Math.abs(value - again.coefficients[j]!.estimate)).toBeLessThan(1e-7);
    }
  });

  it('is near a count fit without the run', () => {
    const { fit, rows } = fitAndRows(
      { plotCells: 3, repeats: 2, lnBubbles: (x) => 1.5 + 0.4 * x['level']! },
      'bubbles',
    );
    expect(fit.method).toBe('Poisson with whole plots');
    for (const { row, coefficients } of leftOutCoefficients(fit, rows)) {
      const i = rows.rows.indexOf(row);
      const again = fitPoissonMixed({
        x: without(rows.x, i),
        counts: others(rows.y, i),
        exposure: others(rows.exposure!, i),
        wholePlots: others(rows.strata[0]!, i),
      });
      if (again.kind !== 'fitted') throw new Error(again.kind);
      for (const [j, value] of coefficients.entries()) {
        // One step, ratio held: within half the move or a fifth of the term's error.
        const moved = Math.abs(again.coefficients[j]!.estimate - fit.terms[j]!.estimate);
        const room = 0.5 * moved + 0.2 * fit.terms[j]!.standardError!;
        expect(Math.abs(value - again.coefficients[j]!.estimate)).toBeLessThan(room);
      }
    }
  });
});

describe('cellInfluences', () => {
  it('sees a wild cell and says what would move, largest first', () => {
    const state = inventedStudy({ sd: 0.02 });
    const wild = 16;
    const spoiled = {
      ...state,
      cells: state.cells.map((cell) =>
        cell.cell === wild
          ? {
              ...cell,
              readings: {
                ...cell.readings,
                measured: {
                  ...cell.readings.measured!,
                  diameterSdMm: 4 * cell.readings.measured!.diameterSdMm,
                },
              },
            }
          : cell,
      ),
    };
    const predictor = predictorOf(spoiled, fitsOf(spoiled));
    const found = recommendation(predictor);
    if (found.kind !== 'found' && found.kind !== 'nowhere acceptable') throw new Error(found.kind);
    const influences = cellInfluences(predictor, found);
    expect(influences).toHaveLength(18);
    expect(influences[0]!.says).toMatch(
      /^Without cell \d+ the best (level|screw|fan) moves by [+−]/,
    );
    expect(Object.keys(influences[0]!.moves)).toEqual(['level', 'screw', 'fan']);
    for (const [i, { largestShare }] of influences.slice(1).entries())
      expect(largestShare).toBeLessThanOrEqual(influences[i]!.largestShare);
    // What is predicted changes most without the wild cell.
    const changes = influences.map(({ cell, predictions }) => {
      const spread = predictions.find(({ name }) => name === 'SD of diameter')!;
      return { cell, by: Math.abs(Math.log(spread.without / spread.with)) };
    });
    const most = changes.reduce((a, b) => (b.by > a.by ? b : a));
    expect(most.cell).toBe(wild);
    expect(most.by).toBeGreaterThan(0.05);
  });
});
