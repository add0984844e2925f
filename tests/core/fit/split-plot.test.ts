import {
  contrastTest,
  type Dense,
  fitBayesSplitPlot,
  fitSplitPlot,
  leastSquares,
  predictBayesSplitPlot,
  type SplitPlotFit,
  type SplitPlotInput,
  seededUniform,
  shuffled,
  type Uniform,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

/** Roughly normal: the sum of twelve uniforms, less six. */
const bell = (uniform: Uniform) => {
  let s = -6;
  for (let k = 0; k < 12; k++) s += uniform();
  return s;
};

/** Eight whole plots of three to five cells, a hard factor, two easy ones. */
function layout(seed: number, plotSd = 1): SplitPlotInput {
  const uniform = seededUniform(seed);
  const rows: number[][] = [];
  const plots: number[] = [];
  const y: number[] = [];
  for (let g = 0; g < 8; g++) {
    const level = [-1, 1, 0, 0.5][g % 4]!;
    const effect = plotSd * bell(uniform);
    const cells = 3 + Math.floor(3 * uniform());
    for (let c = 0; c < cells; c++) {
      const rpm = 2 * uniform() - 1;
      const fan = 2 * uniform() - 1;
      rows.push([1, level, rpm, fan, level * rpm]);
      plots.push(g + 10);
      y.push(5 + level - 0.5 * rpm + effect + 0.4 * bell(uniform));
    }
  }
  return {
    x: { rows: rows.length, cols: 5, data: Float64Array.from(rows.flat()) },
    y: Float64Array.from(y),
    strata: [Int32Array.from(plots)],
    names: ['mean', 'level', 'rpm', 'fan', 'level × rpm'],
  };
}

function fitted(input: SplitPlotInput): SplitPlotFit {
  const result = fitSplitPlot(input);
  if (result.kind !== 'fitted') throw new Error(result.words);
  return result;
}

function permuted(input: SplitPlotInput, order: readonly number[]): SplitPlotInput {
  const { x, y, strata } = input;
  const data = order.flatMap((i) => [...x.data.slice(i * x.cols, (i + 1) * x.cols)]);
  return {
    ...input,
    x: { ...x, data: Float64Array.from(data) },
    y: Float64Array.from(order, (i) => y[i]!),
    strata: strata.map((labels) => Int32Array.from(order, (i) => labels[i]!)),
  };
}

const close = (got: number, wanted: number, tolerance: number) =>
  Math.abs(got - wanted) <= tolerance * (1 + Math.abs(wanted));

describe('fitSplitPlot', () => {
  it('law: with the ratio fixed at 0 it equals ordinary least squares', () => {
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const input = layout(seed);
        const fit = fitted({ ...input, ratioSource: { kind: 'known-ratio', ratios: [0] } });
        const ols = leastSquares({ x: input.x, y: input.y });
        if (ols.kind !== 'fitted') throw new Error(ols.kind);
        for (const [j, term] of fit.coefficients.entries()) {
          expect(close(term.estimate, ols.coefficients[j]!, 1e-10)).toBe(true);
          expect(close(term.standardError, ols.standardErrors[j]!, 1e-10)).toBe(true);
          expect(term.df).toBe(ols.dfResidual);
        }
      }),
      { seed: 3, numRuns: 30 },
    );
  });

  it('law: scaling the response scales estimates, errors and standard deviations, not df', () => {
    fc.assert(
      fc.property(fc.integer(), fc.constantFrom(1e-3, 7, 1e4), (seed, factor) => {
        const input = layout(seed);
        const fit = fitted(input);
        const scaled = fitted({ ...input, y: input.y.map((value) => factor * value) });
        for (const [j, term] of fit.coefficients.entries()) {
          const other = scaled.coefficients[j]!;
          expect(close(other.estimate / factor, term.estimate, 1e-7)).toBe(true);
          expect(close(other.standardError / factor, term.standardError, 1e-7)).toBe(true);
          expect(close(other.df, term.df, 1e-6)).toBe(true);
        }
        for (const [k, component] of fit.varianceComponents.entries()) {
          const sd = scaled.varianceComponents[k]!.standardDeviation / factor;
          expect(close(sd, component.standardDeviation, 1e-7)).toBe(true);
        }
      }),
      { seed: 4, numRuns: 20 },
    );
  });

  it('law: the order of the rows does not matter', () => {
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const input = layout(seed);
        const order = shuffled(
          Array.from({ length: input.x.rows }, (_, i) => i),
          seededUniform(seed, 'order'),
        );
        const fit = fitted(input);
        const other = fitted(permuted(input, order));
        expect(close(other.restrictedLogLikelihood, fit.restrictedLogLikelihood, 1e-10)).toBe(true);
        for (const [j, term] of fit.coefficients.entries()) {
          expect(close(other.coefficients[j]!.estimate, term.estimate, 1e-7)).toBe(true);
          expect(close(other.coefficients[j]!.df, term.df, 1e-6)).toBe(true);
        }
        for (const effect of fit.plotEffects) {
          const same = other.plotEffects.find(({ label }) => label === effect.label)!;
          expect(Math.abs(same.effect - effect.effect)).toBeLessThan(1e-6);
        }
      }),
      { seed: 5, numRuns: 20 },
    );
  });

  it('law: no ratio on a fine grid has a higher restricted likelihood than the one found', () => {
    fc.assert(
      fc.property(fc.integer(), fc.constantFrom(0, 0.3, 3), (seed, plotSd) => {
        const input = layout(seed, plotSd);
        const best = fitted(input).restrictedLogLikelihood;
        for (let step = -1; step < 60; step++) {
          const ratio = step < 0 ? 0 : 1e-3 * 1.3 ** step;
          const other = fitted({ ...input, ratioSource: { kind: 'known-ratio', ratios: [ratio] } });
          expect(other.restrictedLogLikelihood).toBeLessThanOrEqual(best + 1e-9);
        }
      }),
      { seed: 6, numRuns: 15 },
    );
  });

  it('law: with two strata no pair of ratios on a grid has a higher restricted likelihood', () => {
    const grid = [0, 1e-3, 0.02, 0.1, 0.3, 0.7, 1.5, 4, 10, 50, 1e3];
    fc.assert(
      fc.property(fc.integer(), fc.constantFrom(0, 0.3, 3), (seed, plotSd) => {
        const input = layout(seed, plotSd);
        const outer = input.strata[0]!;
        const pairs = outer.map((label, i) => (label + i) % 2);
        const nested = { ...input, strata: [outer, pairs] };
        const best = fitted(nested).restrictedLogLikelihood;
        for (const a of grid) {
          for (const b of grid) {
            const ratioSource = { kind: 'known-ratio' as const, ratios: [a, b] };
            const other = fitted({ ...nested, ratioSource });
            expect(other.restrictedLogLikelihood).toBeLessThanOrEqual(best + 1e-9);
          }
        }
      }),
      { seed: 7, numRuns: 6 },
    );
  });

  it('law: a large constant added to the response leaves all but the mean alone', () => {
    const input = layout(11);
    const fit = fitted(input);
    const lifted = fitted({ ...input, y: input.y.map((value) => value + 1e6) });
    for (const [j, term] of fit.coefficients.entries()) {
      // Six digits of the sixteen go to the constant.
      expect(close(lifted.coefficients[j]!.standardError, term.standardError, 1e-8)).toBe(true);
    }
    expect(lifted.coefficients[0]!.estimate - 1e6).toBeCloseTo(fit.coefficients[0]!.estimate, 6);
  });

  it('gives single contrasts the same F, df and p as the coefficient table', () => {
    const fit = fitted(layout(12));
    for (const [j, term] of fit.coefficients.entries()) {
      const data = new Float64Array(5);
      data[j] = 2;
      const test = contrastTest(fit, { rows: 1, cols: 5, data });
      expect(close(test.f, term.t ** 2, 1e-10)).toBe(true);
      expect(close(test.ddf, term.df, 1e-10)).toBe(true);
      expect(close(test.p, term.p, 1e-8)).toBe(true);
    }
  });

  it('leaves out dependent rows of a contrast', () => {
    const fit = fitted(layout(13));
    const twice: Dense = {
      rows: 2,
      cols: 5,
      data: Float64Array.of(0, 0, 1, 0, 0, 0, 0, -3, 0, 0),
    };
    expect(contrastTest(fit, twice).ndf).toBe(1);
  });

  it('says so when the adjustment leaves a term less than 1 df', () => {
    // Three plots of two runs, hardly any difference between plots: a variance of zero.
    const fit = fitted({
      x: { rows: 6, cols: 2, data: Float64Array.of(1, -1, 1, -1, 1, 0, 1, 0, 1, 1, 1, 1) },
      y: Float64Array.of(1, 2, 2, 1, 1, 2),
      strata: [Int32Array.of(1, 1, 2, 2, 3, 3)],
      names: ['mean', 'level'],
    });
    expect(fit.varianceComponents[0]!.variance).toBe(0);
    const starved = fit.coefficients.filter(({ df }) => df < 1);
    expect(starved.length).toBeGreaterThan(0);
    expect(fit.remarks[0]).toContain(`${starved[0]!.name} (df `);
  });

  it('does not touch its input', () => {
    const input = layout(14);
    const [x, y] = [input.x.data.slice(), input.y.slice()];
    fitted(input);
    expect(input.x.data).toEqual(x);
    expect(input.y).toEqual(y);
  });
});

describe('fitSplitPlot refusals', () => {
  const input = layout(21);
  const kindOf = (change: Partial<SplitPlotInput>) => {
    const result = fitSplitPlot({ ...input, ...change });
    return result.kind === 'fitted' ? result : { kind: result.kind, words: result.words };
  };

  it('refuses one whole plot by name', () => {
    const result = kindOf({ strata: [new Int32Array(input.x.rows)] });
    expect(result).toMatchObject({ kind: 'one-whole-plot' });
  });

  it('refuses as many whole-plot terms as whole plots, and names them', () => {
    const rows = Array.from({ length: 12 }, (_, i) => {
      const level = [-1, 0, 1][Math.floor(i / 4)]!;
      return [1, level, level ** 2, (i % 4) - 1.5];
    });
    const data = {
      x: { rows: 12, cols: 4, data: Float64Array.from(rows.flat()) },
      y: Float64Array.from({ length: 12 }, (_, i) => (i * 7) % 5),
      strata: [Int32Array.from({ length: 12 }, (_, i) => Math.floor(i / 4))],
      names: ['mean', 'level', 'level²', 'fan'],
    };
    expect(fitSplitPlot(data)).toMatchInlineSnapshot(`
      {
        "kind": "too-few-whole-plots",
        "plots": 3,
        "stratum": 0,
        "terms": [
          "level",
          "level²",
        ],
        "words": "3 whole plots leave no df among whole plots for a model with level and level²: their variation cannot be estimated. Add replicate whole plots, drop terms, or fix the variance ratio.",
      }
    `);
    const known = fitSplitPlot({ ...data, ratioSource: { kind: 'known-ratio', ratios: [1] } });
    expect(known.kind).toBe('fitted');
    expect(fitBayesSplitPlot(data).kind).toBe('fitted');
  });

  it('refuses aliased terms and names all that are involved', () => {
    const { x } = input;
    const data = Float64Array.from({ length: x.rows * 4 }, (_, at) => {
      const i = Math.floor(at / 4);
      const [a, b] = [x.data[i * 5 + 1]!, x.data[i * 5 + 2]!];
      return [1, a, b, a - b][at % 4]!;
    });
    const names = ['mean', 'level', 'rpm', 'difference'];
    const result = fitSplitPlot({ ...input, x: { rows: x.rows, cols: 4, data }, names });
    expect(result).toMatchObject({
      kind: 'aliased',
      rank: 3,
      terms: ['level', 'rpm', 'difference'],
    });
  });

  it('refuses whole plots of a single run each as saturated within plots', () => {
    const result = kindOf({ strata: [Int32Array.from(input.y, (_, i) => i)] });
    expect(result).toMatchObject({ kind: 'saturated-within-plots' });
  });

  it('refuses a response computed from the settings', () => {
    const { x } = input;
    const y = Float64Array.from({ length: x.rows }, (_, i) => 3 + 2 * x.data[i * 5 + 2]!);
    expect(kindOf({ y })).toMatchObject({ kind: 'no-residual-variation' });
  });

  it('throws not_finite naming the row', () => {
    const y = input.y.slice();
    y[4] = Number.NaN;
    expect(() => fitSplitPlot({ ...input, y })).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: fitSplitPlot: every response must be finite; got NaN (row 4). Leave out runs without a reading.]`,
    );
  });

  it('throws stratum_count, shape_mismatch, bad_weight, bad_ratio on broken contracts', () => {
    const n = input.x.rows;
    const labels = input.strata[0]!;
    for (const [code, change] of [
      ['stratum_count', { strata: [] }],
      ['stratum_count', { strata: [labels, labels, labels] }],
      ['shape_mismatch', { strata: [labels.slice(1)] }],
      ['shape_mismatch', { y: input.y.slice(1) }],
      ['bad_weight', { weights: new Float64Array(n) }],
      ['bad_ratio', { ratioSource: { kind: 'known-ratio' as const, ratios: [1, 1] } }],
      ['bad_confidence', { confidence: 95 }],
    ] as const) {
      expect(() => fitSplitPlot({ ...input, ...change }), code).toThrowError(
        expect.objectContaining({ code }),
      );
    }
  });
});

describe('fitBayesSplitPlot', () => {
  it('predicts a run of a known plot more closely than one of a new plot', () => {
    const input = layout(31, 2);
    const fit = fitBayesSplitPlot(input);
    if (fit.kind !== 'fitted') throw new Error(fit.words);
    const row = Float64Array.of(1, 0, 0, 0, 0);
    const mean = predictBayesSplitPlot(fit, row, { kind: 'mean' });
    const fresh = predictBayesSplitPlot(fit, row, { kind: 'new-whole-plot' });
    const same = predictBayesSplitPlot(fit, row, { kind: 'same-whole-plot', label: 12 });
    expect(same.sd).toBeLessThan(fresh.sd);
    expect(mean.sd).toBeLessThan(fresh.sd);
    expect(fit.coefficients[0]!.mean).toBeCloseTo(mean.mean, 10);
    expect(() =>
      predictBayesSplitPlot(fit, row, { kind: 'same-whole-plot', label: 99 }),
    ).toThrowError(expect.objectContaining({ code: 'unknown_plot' }));
  });

  it('follows a firm prior on the ratio to the fit with that ratio known', () => {
    const input = layout(32);
    const fit = fitBayesSplitPlot({
      ...input,
      prior: { ratios: [{ kind: 'log-normal', median: 1.5, logSd: 1e-3 }] },
    });
    if (fit.kind !== 'fitted') throw new Error(fit.words);
    const known = fitted({ ...input, ratioSource: { kind: 'known-ratio', ratios: [2.25] } });
    for (const [j, term] of known.coefficients.entries()) {
      const got = fit.coefficients[j]!;
      expect(close(got.mean, term.estimate, 1e-5)).toBe(true);
      expect(close(got.low, term.low, 1e-4)).toBe(true);
      expect(close(got.high, term.high, 1e-4)).toBe(true);
    }
  });

  it('follows a term carried over with many cells', () => {
    const input = layout(33);
    const fit = fitBayesSplitPlot({
      ...input,
      prior: {
        terms: {
          means: Float64Array.of(0, 4, 0, 0, 0),
          cells: Float64Array.of(0, 1e9, 0, 0, 0),
        },
      },
    });
    if (fit.kind !== 'fitted') throw new Error(fit.words);
    expect(fit.coefficients[1]!.mean).toBeCloseTo(4, 5);
  });

  it('throws bad_prior when a prior does not fit the model', () => {
    for (const prior of [
      { ratios: [] },
      { residual: { df: 0, variance: 1 } },
      { terms: { means: new Float64Array(2), cells: new Float64Array(2) } },
      { ratios: [{ kind: 'half-cauchy' as const, scale: 0 }] },
    ]) {
      expect(() => fitBayesSplitPlot({ ...layout(34), prior })).toThrowError(
        expect.objectContaining({ code: 'bad_prior' }),
      );
    }
  });
});
