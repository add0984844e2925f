import {
  type CountFit,
  type CountInput,
  fitCounts,
  fitPoissonMixed,
  seededUniform,
  type Uniform,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

/** Poisson by counting exponential gaps. */
function poisson(uniform: Uniform, mean: number): number {
  let left = mean;
  for (let k = 0; ; k++) {
    left += Math.log(1 - uniform());
    if (left < 0) return k;
  }
}

/** Counts over metres at three levels and a continuous second term. */
function layout(seed: number, n = 24): CountInput {
  const uniform = seededUniform(seed);
  const rows: number[][] = [];
  const counts: number[] = [];
  const exposure: number[] = [];
  for (let i = 0; i < n; i++) {
    const level = (i % 3) - 1;
    const fan = 2 * uniform() - 1;
    const metres = 5 + 10 * uniform();
    rows.push([1, level, fan]);
    exposure.push(metres);
    counts.push(poisson(uniform, metres * Math.exp(-0.5 + 0.6 * level - 0.3 * fan)));
  }
  return {
    x: { rows: n, cols: 3, data: Float64Array.from(rows.flat()) },
    counts: Float64Array.from(counts),
    exposure: Float64Array.from(exposure),
    family: 'poisson',
    names: ['mean', 'level', 'fan'],
  };
}

function fitted(input: CountInput): CountFit {
  const result = fitCounts(input);
  if (result.kind !== 'fitted') throw new Error(result.words);
  return result;
}

const close = (got: number, wanted: number, tolerance: number) =>
  Math.abs(got - wanted) <= tolerance * (1 + Math.abs(wanted));

describe('fitCounts', () => {
  it('gives ln(total / exposure) and 1/√total for a constant rate (closed form)', () => {
    const counts = Float64Array.of(3, 0, 7, 2);
    const exposure = Float64Array.of(2, 1, 4, 3);
    const x = { rows: 4, cols: 1, data: Float64Array.of(1, 1, 1, 1) };
    const fit = fitted({ x, counts, exposure, family: 'poisson' });
    expect(fit.coefficients[0]!.estimate).toBeCloseTo(Math.log(12 / 10), 12);
    expect(fit.coefficients[0]!.standardError).toBeCloseTo(1 / Math.sqrt(12), 12);
    expect(fit.deviance).toBeCloseTo(fit.nullDeviance, 12);
  });

  it('law: fitted counts add up to the counts over every column, and leverages to p', () => {
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const input = layout(seed);
        const fit = fitted(input);
        for (let j = 0; j < 3; j++) {
          let off = 0;
          for (let i = 0; i < input.x.rows; i++)
            off += input.x.data[i * 3 + j]! * (input.counts[i]! - fit.fitted[i]!);
          expect(Math.abs(off)).toBeLessThan(1e-8);
        }
        expect(fit.leverages.reduce((sum, h) => sum + h, 0)).toBeCloseTo(3, 10);
        const deviance = fit.devianceResiduals.reduce((sum, r) => sum + r * r, 0);
        expect(close(deviance, fit.deviance, 1e-12)).toBe(true);
      }),
      { seed: 8, numRuns: 40 },
    );
  });

  it('law: exposure in other units moves the mean term alone', () => {
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const input = layout(seed);
        const fit = fitted(input);
        const exposure = input.exposure!.map((metres) => 1000 * metres);
        const other = fitted({ ...input, exposure });
        const [mean, ...rest] = other.coefficients;
        expect(close(mean!.estimate + Math.log(1000), fit.coefficients[0]!.estimate, 1e-9)).toBe(
          true,
        );
        for (const [j, term] of rest.entries()) {
          expect(close(term.estimate, fit.coefficients[j + 1]!.estimate, 1e-9)).toBe(true);
          expect(close(term.standardError, fit.coefficients[j + 1]!.standardError, 1e-9)).toBe(
            true,
          );
        }
      }),
      { seed: 9, numRuns: 20 },
    );
  });

  it('picks the negative binomial when the excess grows with the mean', () => {
    const uniform = seededUniform(17);
    const rows = Array.from({ length: 60 }, (_, i) => [1, (i % 3) - 1]);
    const counts = rows.map(([, level]) => {
      const rate = 20 * Math.exp(1.2 * level!);
      // A gamma of shape 2 as two exponentials, so θ = 2.
      const gamma = -(Math.log(1 - uniform()) + Math.log(1 - uniform())) / 2;
      return poisson(uniform, rate * gamma);
    });
    const fit = fitted({
      x: { rows: 60, cols: 2, data: Float64Array.from(rows.flat()) },
      counts: Float64Array.from(counts),
      family: 'automatic',
    });
    expect(fit.family).toBe('negative-binomial');
    expect(fit.reason).toMatch(/the more so the larger they are/);
    expect(Math.abs(fit.size!.theta - 2)).toBeLessThan(3 * fit.size!.standardError);
  });

  it('falls back to Poisson when the size of a negative binomial is infinite', () => {
    const fit = fitted({
      x: { rows: 6, cols: 1, data: new Float64Array(6).fill(1) },
      counts: Float64Array.of(5, 5, 6, 5, 4, 5),
      family: 'negative-binomial',
    });
    expect(fit.family).toBe('poisson');
    expect(fit.reason).toMatch(/θ is infinite/);
  });

  it('checks nothing when there are as many terms as runs, and says so', () => {
    const fit = fitted({
      x: { rows: 2, cols: 2, data: Float64Array.of(1, -1, 1, 1) },
      counts: Float64Array.of(4, 9),
      family: 'automatic',
    });
    expect(fit.dfResidual).toBe(0);
    expect(fit.fitted[1]).toBeCloseTo(9, 9);
    expect(fit.reason).toMatch(/cannot be checked/);
  });
});

describe('fitCounts outcomes of poor data', () => {
  it('gives the exact upper limit of the rate when nothing was counted', () => {
    const input = layout(1);
    const result = fitCounts({ ...input, counts: new Float64Array(24) });
    if (result.kind !== 'all-zero') throw new Error(result.kind);
    // At the limit, seeing nothing over all metres has a probability of exactly 5 %.
    expect(Math.exp(-result.upperRate * result.exposure)).toBeCloseTo(0.05, 12);
  });

  it('names the term that runs off when one level saw nothing, and stays finite', () => {
    const level = [0, 0, 0, 0, 1, 1, 1, 1];
    const result = fitCounts({
      x: { rows: 8, cols: 2, data: Float64Array.from(level.flatMap((v) => [1, v])) },
      counts: Float64Array.of(3, 5, 4, 6, 0, 0, 0, 0),
      family: 'automatic',
      names: ['mean', 'nozzle B'],
    });
    if (result.kind !== 'separated') throw new Error(result.kind);
    expect(result.terms).toEqual(['nozzle B']);
    // Firth for one rate adds ½ to its count: ln(0.5/4) − ln(18.5/4) between the two levels.
    expect(result.penalised[1]!.estimate).toBeCloseTo(Math.log(0.5 / 18.5), 8);
    expect(result.words).toMatchInlineSnapshot(
      `"Nothing was counted where nozzle B points, so the best estimate there is a rate of zero and has no standard error. Shown instead are penalised estimates, which stay finite."`,
    );
  });

  it('refuses aliased terms by name', () => {
    const input = layout(2);
    const data = input.x.data.map((value, at) => (at % 3 === 2 ? input.x.data[at - 1]! : value));
    const result = fitCounts({ ...input, x: { ...input.x, data } });
    expect(result).toMatchObject({ kind: 'aliased', rank: 2, terms: ['level', 'fan'] });
  });

  it('throws bad_count, bad_exposure, shape_mismatch and bad_confidence', () => {
    const input = layout(3);
    for (const [code, change] of [
      ['bad_count', { counts: input.counts.map((count) => count + 0.5) }],
      ['bad_count', { counts: input.counts.map(() => -1) }],
      ['bad_exposure', { exposure: new Float64Array(24) }],
      ['shape_mismatch', { exposure: new Float64Array(2) }],
      ['bad_confidence', { confidence: 1 }],
    ] as const) {
      expect(() => fitCounts({ ...input, ...change }), code).toThrowError(
        expect.objectContaining({ code }),
      );
    }
  });
});

describe('fitPoissonMixed', () => {
  const plots = Int32Array.from({ length: 24 }, (_, i) => Math.floor(i / 3));

  it('equals the Poisson fit when the plots vary no more than their counts', () => {
    const { x, exposure } = layout(4);
    const counts = Float64Array.from(exposure!, (metres) => Math.round(2 * metres));
    const mixed = fitPoissonMixed({ x, counts, exposure: exposure!, wholePlots: plots });
    if (mixed.kind !== 'fitted') throw new Error(mixed.words);
    const plain = fitted({ x, counts, exposure: exposure!, family: 'poisson' });
    expect(mixed.wholePlotSd).toBe(0);
    expect(mixed.remarks.at(-1)).toMatch(/estimated as zero/);
    for (const [j, term] of plain.coefficients.entries()) {
      expect(mixed.coefficients[j]!.estimate).toBeCloseTo(term.estimate, 8);
      expect(mixed.coefficients[j]!.standardError).toBeCloseTo(term.standardError, 5);
    }
    expect(mixed.logLikelihood).toBeCloseTo(plain.logLikelihood!, 8);
  });

  it('refuses one whole plot, and as many whole-plot terms as plots', () => {
    const { x, counts } = layout(5);
    const one = fitPoissonMixed({ x, counts, wholePlots: new Int32Array(24) });
    expect(one.kind).toBe('one-whole-plot');
    const byLevel = Int32Array.from({ length: 24 }, (_, i) => i % 3);
    const data = Float64Array.from({ length: 72 }, (_, at) => {
      const level = (Math.floor(at / 3) % 3) - 1;
      return [1, level, level * level][at % 3]!;
    });
    const few = fitPoissonMixed({ x: { ...x, data }, counts, wholePlots: byLevel });
    expect(few.kind).toBe('too-few-whole-plots');
  });
});
