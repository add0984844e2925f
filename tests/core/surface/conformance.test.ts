import {
  assurance,
  conformanceModel,
  type DomainError,
  fitBayesSplitPlot,
  fittedRows,
  type JudgedRequirement,
  keepingProbability,
  normalLower,
  plotBelief,
  predictBayesSplitPlot,
  quickNormalLower,
  quickTLower,
  type ResidualCorrelation,
  type ResponseSurface,
  residualCorrelation,
  responseResiduals,
  responseSurface,
  type SetUpWander,
  seededUniform,
  standardNormal,
  surfaceDraw,
  tLower,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { inventedFit } from './invented-fit.ts';

describe('quickTLower', () => {
  it.each([1, 2, 3.7, 5, 9, 24, 300, 1e5])('agrees with tLower within 1e-8 on %s df', (df) => {
    const quick = quickTLower(df);
    let worst = 0;
    for (let t = -60; t <= 60; t += 0.0371)
      worst = Math.max(worst, Math.abs(quick(t) - tLower(t, df)));
    expect(worst).toBeLessThan(1e-8);
    expect([quick(Number.NEGATIVE_INFINITY), quick(Number.POSITIVE_INFINITY)]).toEqual([0, 1]);
  });

  it('agrees with normalLower within 1e-9 on infinite df', () => {
    for (let z = -10; z <= 10; z += 0.0371)
      expect(Math.abs(quickNormalLower(z) - normalLower(z))).toBeLessThan(1e-9);
    expect(quickTLower(Number.POSITIVE_INFINITY)(1.3)).toBe(quickNormalLower(1.3));
  });
});

const bowl = { sd: (x: Record<string, number>) => 0.6 * x['level']! ** 2 - 0.2 * x['screw']! };
const three = {
  ...bowl,
  gel: (x: Record<string, number>) => 0.4 * x['screw']! + 0.3 * x['level']! * x['screw']!,
  rate: (x: Record<string, number>) => 0.5 * x['screw']!,
};

function judgedOf(
  surfaces: readonly ResponseSurface[],
  limits: Record<string, number>,
): JudgedRequirement[] {
  return surfaces.flatMap((surface) => {
    const limit = limits[surface.name];
    if (limit === undefined) return [];
    const side = surface.name === 'rate' ? { atLeast: limit } : { atMost: limit };
    return [{ surface, requirement: { response: surface.name, says: surface.name, ...side } }];
  });
}

const fixedCorrelation = (names: readonly string[], rho: number): ResidualCorrelation => {
  const k = names.length;
  const matrix = Float64Array.from({ length: k * k }, (_, at) =>
    Math.floor(at / k) === at % k ? 1 : rho,
  );
  return { names, matrix, lower: matrix, pairs: [] };
};

const wander: SetUpWander = {
  axes: [
    { name: 'zones', within: 1, unit: '°C', shift: Float64Array.of(0.15, 0) },
    { name: 'screw', within: 0.1, unit: 'rpm', shift: Float64Array.of(0.05, 0.2) },
  ],
};

/** Shares of conforming set-ups among plain draws: surfaces, settings and set-ups all drawn anew. */
function bruteForce(
  judged: readonly JudgedRequirement[],
  settings: Float64Array,
  { rho = 0, moves = [] as readonly Float64Array[], draws = 60_000, seed = 11 },
): number {
  const uniform = seededUniform(seed, 'brute force');
  let kept = 0;
  for (let i = 0; i < draws; i++) {
    const at = settings.slice();
    for (const move of moves) {
      const share = 2 * uniform() - 1;
      for (let f = 0; f < at.length; f++) at[f]! += share * move[f]!;
    }
    const common = standardNormal(uniform);
    const score = (): number =>
      Math.sqrt(rho) * common + Math.sqrt(1 - rho) * standardNormal(uniform);
    let isKept = true;
    for (const { surface, requirement } of judged) {
      let value: number;
      if (rho === 0) {
        const draw = surfaceDraw(surface.belief!, uniform);
        value = surface.row(at).reduce((sum, x, j) => sum + x * draw.coefficients[j]!, 0);
        value += Math.sqrt(draw.noise) * standardNormal(uniform);
      } else {
        // Normal df only: the predictive normal of the response, scores shared between responses.
        value = surface.mean(at) + Math.sqrt(predictiveVariance(surface, at)) * score();
      }
      const { atMost = Number.POSITIVE_INFINITY, atLeast = Number.NEGATIVE_INFINITY } = requirement;
      if (value > atMost || value < atLeast) isKept = false;
    }
    if (isKept) kept++;
  }
  return kept / draws;
}

function predictiveVariance(
  { covariance, row, noiseVariance }: ResponseSurface,
  at: Float64Array,
): number {
  const x = row(at);
  let sum = noiseVariance;
  for (let i = 0; i < x.length; i++)
    for (let j = 0; j < x.length; j++) sum += x[i]! * covariance![i * x.length + j]! * x[j]!;
  return sum;
}

/** The same surface with its variances taken as known. */
function known(surface: ResponseSurface): ResponseSurface {
  const df = Number.POSITIVE_INFINITY;
  return {
    ...surface,
    df,
    termDf: surface.termDf.map(() => df),
    belief: { ...surface.belief!, df },
  };
}

describe('conformanceModel', () => {
  const { surfaces } = inventedFit(three, { sd: 0.15, repeats: 1 });
  const limits = { sd: 0.35, gel: 0.3, rate: -0.1 };
  const places = [
    [0, 0],
    [0.4, 0.5],
    [-0.8, -0.3],
    [1, 1],
  ].map((at) => Float64Array.from(at));

  it('is the product of closed forms, without error, when responses are independent and settings exact', () => {
    const judged = judgedOf(surfaces, limits);
    const model = conformanceModel({ judged, seed: 1 });
    for (const at of places) {
      const product = judged.reduce((chance, each) => chance * keepingProbability(each, at)!, 1);
      const { probability, error } = model.at(at);
      expect(error).toBe(0);
      expect(Math.abs(probability - product)).toBeLessThan(1e-7);
    }
  });

  it('agrees with brute-force draws of surfaces, set-ups and wandering set points', () => {
    const judged = judgedOf(surfaces, limits);
    const model = conformanceModel({ judged, wander, seed: 1 });
    const moves = wander.axes.map(({ shift }) => shift);
    for (const at of places) {
      const { probability, error } = model.at(at);
      const brute = bruteForce(judged, at, { moves });
      const noise = Math.sqrt((brute * (1 - brute)) / 60_000) + error;
      expect(error).toBeLessThan(0.002);
      // Four standard errors of the draws, and 2e-3 for holding the standard error over the wander.
      expect(Math.abs(probability - brute)).toBeLessThan(4 * noise + 2e-3);
    }
  });

  it.each([0.3, 0.7])('agrees with brute-force draws of responses correlated by %s', (rho) => {
    const judged = judgedOf(surfaces.map(known), limits);
    const correlation = fixedCorrelation(
      judged.map(({ surface }) => surface.name),
      rho,
    );
    const model = conformanceModel({ judged, correlation, wander, seed: 3 });
    const moves = wander.axes.map(({ shift }) => shift);
    for (const at of places) {
      const { probability, error } = model.at(at);
      const brute = bruteForce(judged, at, { rho, moves });
      const noise = Math.sqrt((brute * (1 - brute)) / 60_000);
      expect(Math.abs(probability - brute)).toBeLessThan(4 * (noise + error) + 2e-3);
      expect(error).toBeLessThan(0.004);
    }
  });

  it('knows the chance that two correlated normals are both positive: 1/4 + asin(ρ)/2π', () => {
    const judged = judgedOf(surfaces.map(known), { sd: 0, gel: 0 }).map(
      ({ surface, requirement }) => ({
        requirement,
        surface: {
          ...surface,
          mean: () => 0,
          coefficients: surface.coefficients.map(() => 0),
          belief: {
            df: Number.POSITIVE_INFINITY,
            nodes: surface.belief!.nodes.map((node) => ({
              ...node,
              coefficients: node.coefficients.map(() => 0),
            })),
          },
        },
      }),
    );
    const correlation = fixedCorrelation(['sd', 'gel'], 0.6);
    const model = conformanceModel({ judged, correlation, seed: 5 });
    const { probability } = model.at(Float64Array.of(0, 0));
    expect(Math.abs(probability - (0.25 + Math.asin(0.6) / (2 * Math.PI)))).toBeLessThan(3e-4);
  });

  it('takes the narrower of two limits on one response', () => {
    const [first] = judgedOf(surfaces, { sd: 0.35 });
    const both = [
      first!,
      { ...first!, requirement: { ...first!.requirement, atMost: 0.1, atLeast: -0.2 } },
    ];
    const at = places[0]!;
    const chance = conformanceModel({ judged: both, seed: 1 }).at(at).probability;
    expect(chance).toBeCloseTo(keepingProbability(both[1]!, at)!, 7);
  });

  it('multiplies by the chance that a strand forms, and repeats for a seed', () => {
    const judged = judgedOf(surfaces, limits);
    const whole = conformanceModel({ judged, wander, seed: 1 });
    const half = conformanceModel({ judged, wander, seed: 1, strandForms: () => 0.5 });
    const at = places[1]!;
    expect(half.at(at).probability).toBeCloseTo(whole.at(at).probability / 2, 12);
    expect(conformanceModel({ judged, wander, seed: 1 }).at(at)).toEqual(whole.at(at));
  });

  it('refuses a surface that nothing can judge', () => {
    const judged = judgedOf(surfaces, { sd: 1 }).map((each) => ({
      ...each,
      surface: { ...each.surface, belief: null },
    }));
    expect(() => conformanceModel({ judged, seed: 1 })).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: conformanceModel: every surface must have a covariance; got none (response "sd"). Leave its requirement out, or add runs that give it degrees of freedom.]`,
    );
    try {
      conformanceModel({ judged, seed: 1 });
    } catch (error) {
      expect((error as DomainError).code).toBe('not_judged');
    }
  });
});

describe('assurance', () => {
  const { surfaces } = inventedFit(three, { sd: 0.15 });
  const judged = judgedOf(surfaces, { sd: 0.35, gel: 0.3, rate: -0.1 });
  const { parts, at } = conformanceModel({ judged, wander, seed: 1 });

  it('law: draws average to the probability of the model', () => {
    for (const place of [Float64Array.of(0, 0), Float64Array.of(0.4, 0.5)]) {
      // The average over draws is had from two halves of their quantiles, finely.
      const levels = Array.from({ length: 50 }, (_, i) => (i + 0.5) / 50);
      const mean =
        levels.reduce((sum, level) => {
          const { notBelow } = assurance(parts, { seed: 1, confidence: 1 - level, draws: 2048 })(
            place,
          );
          return sum + notBelow;
        }, 0) / levels.length;
      expect(Math.abs(mean - at(place).probability)).toBeLessThan(0.006);
    }
  });

  it('agrees with brute-force draws of the surfaces on what can be promised', () => {
    const place = Float64Array.of(0.4, 0.3);
    const exact = conformanceModel({ judged, seed: 1 });
    const { notBelow, notAbove } = assurance(exact.parts, { seed: 2, draws: 4096 })(place);
    const uniform = seededUniform(9, 'promise');
    const chances = Array.from({ length: 20_000 }, () =>
      judged.reduce((chance, { surface, requirement }) => {
        const { coefficients, noise } = surfaceDraw(surface.belief!, uniform);
        const mean = surface.row(place).reduce((sum, x, j) => sum + x * coefficients[j]!, 0);
        const { atMost = Number.POSITIVE_INFINITY, atLeast = Number.NEGATIVE_INFINITY } =
          requirement;
        const sd = Math.sqrt(noise);
        return chance * (normalLower((atMost - mean) / sd) - normalLower((atLeast - mean) / sd));
      }, 1),
    ).sort((a, b) => a - b);
    expect(Math.abs(notBelow - chances[1000]!)).toBeLessThan(0.012);
    expect(Math.abs(notAbove - chances[19_000]!)).toBeLessThan(0.012);
  });

  it('promises more when there are more runs', () => {
    const more = judgedOf(inventedFit(three, { sd: 0.15, repeats: 6 }).surfaces, {
      sd: 0.45,
      gel: 0.4,
      rate: -0.4,
    });
    const fewer = judgedOf(surfaces, { sd: 0.45, gel: 0.4, rate: -0.4 });
    const place = Float64Array.of(0, 0.2);
    const of = (list: JudgedRequirement[]) =>
      assurance(conformanceModel({ judged: list, seed: 1 }).parts, { seed: 1 })(place).notBelow;
    expect(of(more)).toBeGreaterThan(of(fewer));
  });
});

describe('plotBelief', () => {
  const plotted = inventedFit(bowl, { plots: 3, repeats: 2, plotSd: 0.2, sd: 0.1, seed: 4 });
  const rows = fittedRows(plotted.fits[0]!, plotted.source);
  const belief = plotBelief(plotted.fits[0]!, rows, plotted.factors)!;

  it('keeps at most eight parts that predict within 1e-3 of the whole mixture', () => {
    expect(belief.nodes.length).toBeLessThanOrEqual(8);
    expect(belief.nodes.reduce((sum, { weight }) => sum + weight, 0)).toBeCloseTo(1, 12);
    const whole = fitBayesSplitPlot({ x: rows.x, y: rows.y, strata: rows.strata });
    if (whole.kind !== 'fitted') throw new Error(whole.kind);
    const surface = responseSurface(plotted.fits[0]!, plotted.factors, belief)!;
    for (const settings of [
      Float64Array.of(0, 0),
      Float64Array.of(1, -1),
      Float64Array.of(0.5, 0.7),
    ]) {
      const row = surface.row(settings);
      const { low, high, mean, sd } = predictBayesSplitPlot(whole, row, { kind: 'new-whole-plot' });
      for (const limit of [low, mean - sd / 2, mean, mean + sd, high]) {
        const share = keepingProbability(
          { surface, requirement: { response: 'sd', atMost: limit, says: '' } },
          settings,
        )!;
        const exact = limit === low ? 0.025 : limit === high ? 0.975 : undefined;
        if (exact !== undefined) expect(Math.abs(share - exact)).toBeLessThan(1e-3);
        expect(share).toBeGreaterThan(0);
      }
      expect(surface.mean(settings)).toBeCloseTo(mean, 8);
    }
  });

  it('answers where restricted likelihood refuses for want of whole plots', () => {
    const few = inventedFit(bowl, {
      plots: 4,
      repeats: 1,
      plotSd: 0.1,
      seed: 2,
      names: ['level', 'screw', 'fan'],
    });
    const fit = few.fits[0]!;
    const surface = responseSurface(
      fit,
      few.factors,
      plotBelief(fit, fittedRows(fit, few.source), few.factors),
    );
    expect(surface?.belief).not.toBeNull();
  });
});

describe('residualCorrelation', () => {
  it('finds the correlation of errors, drawn towards zero, and less of it with few runs', () => {
    const used = [1, 12].map((repeats) => {
      const { fits, source } = inventedFit(three, { correlation: 0.8, repeats, seed: 8 });
      const found = residualCorrelation(
        fits.map((fit) => responseResiduals(fit, fittedRows(fit, source))),
      );
      const pair = found.pairs.find(({ names }) => names.includes('sd') && names.includes('gel'))!;
      expect(Math.abs(pair.used)).toBeLessThan(Math.abs(pair.raw));
      return pair;
    });
    expect(used[1]!.runs).toBe(144);
    expect(Math.abs(used[1]!.used - 0.8)).toBeLessThan(0.08);
    expect(used[1]!.raw - used[1]!.used).toBeLessThan(used[0]!.raw - used[0]!.used + 1e-9);
  });
});
