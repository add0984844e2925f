import { type Dense, fitSplitPlot, seededUniform, standardNormal } from '@strandwise/core';
import { describe, expect, it } from 'vitest';

// Three levels of a whole-plot factor, each in four plots of five; two kinds of plot inside, so that
// every plot is made twice. The model is kept too small on purpose: what it lacks must not leak into
// variances by pure error.

const factorial = [-1, 1].flatMap((b) => [-1, 1].map((c) => [b, c]));
const star = [
  [-1, 0],
  [1, 0],
  [0, -1],
  [0, 1],
];
const settings = [-1, 0, 1].flatMap((a, level) =>
  [factorial, star, factorial, star].flatMap((inner, k) =>
    [...inner, [0, 0]].map(([b, c]) => ({
      a,
      b: b!,
      c: c!,
      plot: 4 * level + k,
      block: k < 2 ? 0 : 1,
    })),
  ),
);
const n = settings.length;
const plots = Int32Array.from(settings, ({ plot }) => plot);
const keys = settings.map(({ a, b, c }) => `${a} ${b} ${c}`);
const treatments = Int32Array.from(keys, (key) => keys.indexOf(key));

const columns = (...of: ((at: (typeof settings)[number]) => number)[]): Dense => ({
  rows: n,
  cols: of.length,
  data: Float64Array.from(settings.flatMap((at) => of.map((column) => column(at)))),
});
const straight = columns(
  () => 1,
  ({ a }) => a,
  ({ b }) => b,
  ({ c }) => c,
);

const readings = (uniform: () => number, bend: number): Float64Array => {
  const effects = Array.from({ length: 12 }, () => Math.SQRT2 * standardNormal(uniform));
  return Float64Array.from(
    settings,
    ({ a, b, c, plot }) =>
      3 +
      a -
      b +
      bend * (a * a + 2 * b * b - b * c + a * b * c) +
      effects[plot]! +
      standardNormal(uniform),
  );
};

function variances(y: Float64Array, source: 'reml' | 'pure-error', x = straight): number[] {
  const ratioSource =
    source === 'reml' ? ({ kind: 'reml' } as const) : { kind: 'pure-error' as const, treatments };
  const fit = fitSplitPlot({ x, y, strata: [plots], ratioSource });
  if (fit.kind !== 'fitted') throw new Error(fit.words);
  return fit.varianceComponents.map(({ variance }) => variance);
}

describe('pure error of a split plot', () => {
  it('law: variances stay when any function of the settings is added to the readings', () => {
    const uniform = seededUniform(5, 'pure error');
    for (let trial = 0; trial < 20; trial++) {
      const y = readings(uniform, 0);
      const shape = new Map([...new Set(keys)].map((key) => [key, 10 * standardNormal(uniform)]));
      const bent = y.map((value, i) => value + shape.get(keys[i]!)!);
      const [before, after] = [variances(y, 'pure-error'), variances(bent, 'pure-error')];
      for (const [k, value] of after.entries())
        expect(Math.abs(value / before[k]! - 1), `component ${k}`).toBeLessThan(1e-7);
    }
  });

  it('is unbiased under a wrong model, where the model’s own variances are not', () => {
    const uniform = seededUniform(6, 'wrong model');
    const trials = 150;
    const sums = { pure: [0, 0], own: [0, 0], squares: [0, 0] };
    for (let trial = 0; trial < trials; trial++) {
      const y = readings(uniform, 1.5);
      const pure = variances(y, 'pure-error');
      const own = variances(y, 'reml');
      for (const k of [0, 1]) {
        sums.pure[k]! += pure[k]! / trials;
        sums.squares[k]! += pure[k]! ** 2 / trials;
        sums.own[k]! += own[k]! / trials;
      }
    }
    for (const [k, truth] of [2, 1].entries()) {
      const error = Math.sqrt((sums.squares[k]! - sums.pure[k]! ** 2) / trials);
      expect(Math.abs(sums.pure[k]! - truth), `component ${k}, error ${error}`).toBeLessThan(
        4 * error,
      );
    }
    expect(sums.own[1]!).toBeGreaterThan(2);
  });

  it('counts the df of the repeats, plots and runs apart', () => {
    const y = readings(seededUniform(7, 'df'), 1);
    const fit = fitSplitPlot({
      x: straight,
      y,
      strata: [plots],
      ratioSource: { kind: 'pure-error', treatments },
    });
    if (fit.kind !== 'fitted') throw new Error(fit.words);
    // The plots of one level of a share a setting, their centre: 12 plots in 3 linked sets leave 9 df;
    // 60 runs less 27 settings less those 9 leave 24. Counted by hand as ranks.
    expect(fit.strata.map(({ df }) => df)).toEqual([9, 24]);
    expect(fit.coefficients[1]!.df).toBeGreaterThan(4);
    expect(fit.coefficients[1]!.df).toBeLessThan(9.5);
  });

  it('counts a setting repeated in another block as a repeat', () => {
    const blocked = columns(
      () => 1,
      ({ a }) => a,
      ({ b }) => b,
      ({ c }) => c,
      ({ block }) => 2 * block - 1,
    );
    const y = readings(seededUniform(8, 'blocks'), 1);
    const shifted = y.map((value, i) => value + 30 * settings[i]!.block);
    const [before, after] = [
      variances(y, 'pure-error', blocked),
      variances(shifted, 'pure-error', blocked),
    ];
    for (const [k, value] of after.entries())
      expect(Math.abs(value / before[k]! - 1), `component ${k}`).toBeLessThan(1e-7);
  });

  it('says what to repeat where nothing was', () => {
    const y = readings(seededUniform(9, 'none'), 1);
    const alone = Int32Array.from({ length: n }, (_, i) => i);
    const fit = fitSplitPlot({
      x: straight,
      y,
      strata: [plots],
      ratioSource: { kind: 'pure-error', treatments: alone },
    });
    if (fit.kind === 'fitted') throw new Error('there is nothing to fit by');
    expect(fit.words).toMatchInlineSnapshot(
      `"No settings were repeated in a way that leaves df within whole plots: pure error cannot tell the variation there. Repeat a run."`,
    );
  });
});
