import {
  Factor,
  factorEffects,
  fitTable,
  interactionEffects,
  type LinearConstraint,
  namedEffects,
  type Powers,
  polynomial,
  type ResponseSurface,
  responseSurface,
  Spec,
  seededUniform,
  standardNormal,
  termRow,
  tUpperQuantile,
  varianceShares,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { inventedFit } from './invented-fit.ts';

const factors = ['a', 'b', 'c'].map((name) => Factor.parse({ name, low: 0, high: 10 }));

/** A surface known exactly: no covariance, no belief. */
function exact(
  terms: Powers[],
  values: number[],
  list: readonly Factor[] = factors,
): ResponseSurface {
  const coefficients = Float64Array.from(values);
  const rowInto = termRow(terms, list);
  return {
    name: 'y',
    scale: 'response',
    terms,
    coefficients,
    covariance: null,
    noiseVariance: 0,
    df: Number.POSITIVE_INFINITY,
    termDf: coefficients.map(() => Number.POSITIVE_INFINITY),
    belief: null,
    mean: polynomial(terms, coefficients, list),
    rowInto,
    row: (settings) => {
      const out = new Float64Array(terms.length);
      rowInto(out, settings);
      return out;
    },
  };
}

const byName = (shares: ReturnType<typeof varianceShares>) =>
  Object.fromEntries(shares.shares.map((share) => [share.factor, share]));

describe('varianceShares', () => {
  it('knows a + b² + 2ab by hand: variances 1/3, 4/45 and 4/9', () => {
    const surface = exact([{}, { a: 1 }, { b: 2 }, { a: 1, b: 1 }], [7, 1, 1, 2]);
    const shares = varianceShares({ surface, factors, seed: 1 });
    const whole = 1 / 3 + 4 / 45 + 4 / 9;
    const { a, b, c } = byName(shares);
    expect(shares.surfaceSd).toBeCloseTo(Math.sqrt(whole), 12);
    expect([a!.alone, a!.total].map((v) => v * whole)).toEqual([
      expect.closeTo(1 / 3, 12),
      expect.closeTo(1 / 3 + 4 / 9, 12),
    ]);
    expect([b!.alone, b!.total].map((v) => v * whole)).toEqual([
      expect.closeTo(4 / 45, 12),
      expect.closeTo(4 / 45 + 4 / 9, 12),
    ]);
    expect([c!.total, c!.reading]).toEqual([0, 'not in the model']);
  });

  it('does not call a factor idle that bends without a slope', () => {
    const { a } = byName(
      varianceShares({ surface: exact([{}, { a: 2 }], [1, 1]), factors, seed: 1 }),
    );
    expect([a!.alone, a!.total, a!.reading]).toEqual([1, 1, 'matters']);
  });

  it('sees named levels: one of three levels apart', () => {
    const list = [Factor.parse({ name: 'nozzle', levels: ['x', 'y', 'z'] }), factors[0]!];
    // Values 3 at x, −3 at z, 0 at y: variance 6. And the slope of a: 1/3.
    const surface = exact([{}, { nozzle: 'x' }, { a: 1 }], [0, 3, 1], list);
    const shares = varianceShares({ surface, factors: list, seed: 1 });
    expect(shares.surfaceSd ** 2).toBeCloseTo(6 + 1 / 3, 12);
    expect(byName(shares)['nozzle']!.total).toBeCloseTo(6 / (6 + 1 / 3), 12);
  });

  it('agrees with brute-force conditional variances for cubic and mixed terms', () => {
    const terms: Powers[] = [{}, { a: 3 }, { a: 1, b: 2 }, { b: 1, c: 1 }, { c: 2 }, { a: 1 }];
    const surface = exact(terms, [1, 2, -1.5, 0.8, 1, -1]);
    const { shares, surfaceSd } = varianceShares({ surface, factors, seed: 1 });
    const uniform = seededUniform(3, 'brute');
    const n = 60_000;
    for (const { factor, alone, total } of shares) {
      const f = factors.findIndex(({ name }) => name === factor);
      let own = 0;
      let rest = 0;
      for (let i = 0; i < n; i++) {
        const x = Float64Array.from({ length: 3 }, () => 2 * uniform() - 1);
        const y = Float64Array.from({ length: 3 }, () => 2 * uniform() - 1);
        const mixed = y.slice();
        mixed[f] = x[f]!;
        const turned = x.slice();
        turned[f] = y[f]!;
        // E f(x)(f(own x, other y) − f(y)) is the variance explained alone; half the mean square of
        // turning one factor only is what it has a hand in.
        own += surface.mean(x) * (surface.mean(mixed) - surface.mean(y));
        rest += (surface.mean(x) - surface.mean(turned)) ** 2 / 2;
      }
      const variance = surfaceSd ** 2;
      expect(Math.abs(own / n / variance - alone)).toBeLessThan(0.03);
      expect(Math.abs(rest / n / variance - total)).toBeLessThan(0.02);
    }
  });

  it('samples a cut region and comes back to the exact shares as the cut goes', () => {
    const surface = exact([{}, { a: 1 }, { b: 2 }, { a: 1, b: 1 }], [7, 1, 1, 2]);
    const whole = byName(varianceShares({ surface, factors, seed: 1 }));
    const nearly: LinearConstraint[] = [{ coefficients: { a: 1, b: 1 }, atMost: 1.999, says: '' }];
    const cut = varianceShares({ surface, factors, constraints: nearly, seed: 1 });
    expect(cut.region).toBe('cut region, sampled');
    for (const [name, share] of Object.entries(byName(cut))) {
      expect(Math.abs(share.total - whole[name]!.total)).toBeLessThan(0.01);
      expect(Math.abs(share.alone - whole[name]!.alone)).toBeLessThan(0.02);
    }
    // Held to a thin band along a + b = 0, a and b can stand in for one another.
    const band: LinearConstraint[] = [
      { coefficients: { a: 1, b: 1 }, atMost: 0.05, says: '' },
      { coefficients: { a: -1, b: -1 }, atMost: 0.05, says: '' },
    ];
    const slope = exact([{}, { a: 1 }, { b: 1 }], [0, 1, -1]);
    const thin = byName(varianceShares({ surface: slope, factors, constraints: band, seed: 1 }));
    expect(thin['a']!.total).toBeLessThan(0.01);
    expect(thin['a']!.alone).toBe(thin['a']!.total);
  });

  it('gives an interval that covers the truth in most studies', () => {
    let held = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const { surfaces, factors: list } = inventedFit(
        { y: (x) => x['level']! + 0.8 * x['screw']! ** 2 },
        { sd: 0.25, seed },
      );
      const { level } = byName(varianceShares({ surface: surfaces[0]!, factors: list, seed: 1 }));
      const truth = 1 / 3 / (1 / 3 + (0.64 * 4) / 45);
      if (level!.low! <= truth && truth <= level!.high!) held++;
    }
    expect(held).toBeGreaterThan(51);
  });
});

describe('factorEffects', () => {
  const bowl = (sd: number, seed = 1) =>
    inventedFit(
      { y: (x) => 0.8 * (x['level']! - 0.3) ** 2 + 0.5 * x['screw']! },
      { sd, seed, repeats: 2 },
    );

  it('reads a bowl with the place of its turn, a rise, and what it cannot tell', () => {
    const { surfaces, factors: list } = bowl(0.05);
    const [level, screw] = ['level', 'screw'].map(
      (name) =>
        factorEffects(surfaces[0]!, list, { aim: 'smallest' }).find(
          ({ factor }) => factor === name,
        )!,
    );
    expect(level!.reading).toBe('bends');
    expect(level!.bend!.low).toBeLessThan(0.3);
    expect(level!.bend!.high).toBeGreaterThan(0.3);
    expect(level!.says).toMatch(/^best near 0\.\d+ \(0\.\d+ … 0\.\d+\)$/);
    expect([screw!.reading, screw!.says]).toEqual(['rises', 'rises']);
    const noisy = factorEffects(bowl(5).surfaces[0]!, list);
    expect(noisy.every(({ reading }) => reading === 'cannot tell')).toBe(true);
  });

  it('puts the turn where Fieller’s interval of −b/(2b₂) has it', () => {
    const { surfaces, factors: list } = bowl(0.12, 3);
    const surface = surfaces[0]!;
    const at = (power: number) =>
      surface.terms.findIndex((q) => Object.keys(q).length === 1 && q['level'] === power);
    const p = surface.terms.length;
    const [i, j] = [at(1), at(2)];
    const c = (r: number, s: number) => surface.covariance![r * p + s]!;
    const t = tUpperQuantile(0.025, surface.df);
    const [b, q] = [surface.coefficients[i]!, surface.coefficients[j]!];
    // (b + 2qx)² = t²·(v₁₁ + 4x·v₁₂ + 4x²·v₂₂) solved for x.
    const a2 = 4 * q * q - 4 * t * t * c(j, j);
    const a1 = 4 * b * q - 4 * t * t * c(i, j);
    const a0 = b * b - t * t * c(i, i);
    const root = Math.sqrt(a1 * a1 - 4 * a2 * a0);
    const fieller = [(-a1 - root) / (2 * a2), (-a1 + root) / (2 * a2)];
    const bend = factorEffects(surface, list).find(({ factor }) => factor === 'level')!.bend!;
    // 400 draws place a 2.5 % quantile to about a tenth of the interval.
    const width = fieller[1]! - fieller[0]!;
    expect(Math.abs(bend.low! - fieller[0]!)).toBeLessThan(0.15 * width);
    expect(Math.abs(bend.high! - fieller[1]!)).toBeLessThan(0.15 * width);
  });
});

describe('interactionEffects', () => {
  it('says that one factor works only at one end of the other', () => {
    const { surfaces, factors: list } = inventedFit(
      { y: (x) => -0.3 * x['fan']! * (1 + x['screw']!) },
      { names: ['fan', 'screw'], sd: 0.03 },
    );
    const [found] = interactionEffects(surfaces[0]!, list);
    expect(found!.isClear).toBe(true);
    // (−0.3·2)·2 at high screw against 0 at low: the contrast is −1.2.
    expect(found!.change.value).toBeCloseTo(-1.2, 0);
    expect(found!.says).toBe('fan lowers it only at high screw');
    const [low, high] = found!.lines;
    expect(low!.points).toHaveLength(21);
    expect(Math.abs(low!.change.value)).toBeLessThan(0.2);
    expect(Math.abs(high!.change.value)).toBeGreaterThan(0.4);
  });

  it('cannot tell when the product is lost in the scatter', () => {
    const { surfaces, factors: list } = inventedFit(
      { y: (x) => x['screw']! },
      { names: ['screw', 'fan'], sd: 2, seed: 3 },
    );
    expect(interactionEffects(surfaces[0]!, list)[0]!.says).toBe('cannot tell');
  });
});

describe('namedEffects', () => {
  const spec = Spec.parse({
    factors: [
      { name: 'nozzle', levels: ['brass', 'steel', 'coated'] },
      { name: 'screw', low: -1, high: 1 },
    ],
    responses: [{ name: 'y', kind: 'spread' }],
    model: 'interactions',
  });
  const uniform = seededUniform(4, 'named');
  const rows = ['brass', 'steel', 'coated'].flatMap((nozzle) =>
    [-1, -1, 1, 1].map((screw) => ({ nozzle, screw })),
  );
  const shift: Record<string, number> = { brass: 0.4, steel: 0, coated: -0.4 };
  const table = {
    nozzle: rows.map(({ nozzle }) => nozzle),
    screw: rows.map(({ screw }) => screw),
    y: rows.map(({ nozzle, screw }) =>
      Math.exp(
        shift[nozzle]! + (nozzle === 'brass' ? 0.3 : 0) * screw + 0.05 * standardNormal(uniform),
      ),
    ),
  };
  const surface = responseSurface(fitTable({ spec, table }).responses[0]!, spec.factors)!;

  it('gives every level against the average, as a ratio less 1, and the widest pair', () => {
    const [nozzle] = namedEffects(surface, spec.factors);
    expect(nozzle!.isRatio).toBe(true);
    const change = Object.fromEntries(
      nozzle!.levels.map((each) => [each.level, each.change.value]),
    );
    expect(Math.log1p(change['brass']!)).toBeCloseTo(0.4, 0);
    expect(Math.log1p(change['coated']!)).toBeCloseTo(-0.4, 0);
    expect(nozzle!.widest).toMatchObject({ high: 'brass', low: 'coated', isClear: true });
    expect(nozzle!.says).toBe('brass lies above coated');
    const logs = nozzle!.levels.map((each) => Math.log1p(each.change.value));
    expect(logs.reduce((sum, value) => sum + value, 0)).toBeCloseTo(0, 12);
  });

  it('lets a numeric factor depend on levels', () => {
    const [found] = interactionEffects(surface, spec.factors);
    expect(found!.factors).toEqual(['screw', 'nozzle']);
    expect(found!.lines.map(({ held }) => held)).toEqual(['brass', 'steel', 'coated']);
    expect(found!.says).toBe('what screw does depends on nozzle');
  });
});
