import {
  type AssessedDesign,
  aliasMatrix,
  averagePredictionVariance,
  coefficientPower,
  coefficientVariances,
  columnCorrelations,
  type DesignRun,
  designInformation,
  designLeverages,
  designOf,
  designProperties,
  dfBudget,
  efficiencies,
  estimateCorrelations,
  type Factor,
  fractionOfRegion,
  lostCells,
  modelTerms,
  type Point,
  predictionSlices,
  predictionVariance,
  termPrecisions,
  tPowerTwoSided,
  varianceInflations,
  worstLostCell,
  worstPrediction,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';

const easy = (name: string): Factor => ({ name, low: -1, high: 1, changes: 'easy' });
const run = (coded: Point, wholePlot: number | null = null, block = 1): DesignRun => ({
  coded,
  kind: 'other',
  block,
  wholePlot,
  subWholePlot: null,
});
const square = [easy('a'), easy('b')];
const grid = (factors: Factor[], values: number[]): DesignRun[] =>
  factors
    .reduce<Point[]>(
      (points, { name }) => points.flatMap((p) => values.map((v) => ({ ...p, [name]: v }))),
      [{}],
    )
    .map((coded) => run(coded));

/** Uneven runs, so that no symmetry hides a mistake. */
const uneven: AssessedDesign = {
  factors: square,
  terms: modelTerms('quadratic', square),
  runs: [
    ...grid(square, [-1, 0, 1]),
    run({ a: 0.3, b: -0.6 }),
    run({ a: 0.3, b: -0.6 }),
    run({ a: -0.9, b: 0.2 }),
  ],
};
const uneven2: AssessedDesign = {
  ...uneven,
  runs: uneven.runs.map((r, i) => ({ ...r, wholePlot: (i % 5) + 1 })),
  varianceRatios: [0.8, 0],
};

describe('designInformation', () => {
  it('gives (XᵀX)⁻¹ of an orthogonal two-level design', () => {
    const terms = modelTerms('interactions', square);
    const info = designInformation({ factors: square, terms, runs: grid(square, [-1, 1]) });
    for (const variance of coefficientVariances(info)) expect(variance).toBeCloseTo(1 / 4, 14);
    expect(info.logDeterminant).toBeCloseTo(4 * Math.log(4), 12);
  });

  it('matches (XᵀV⁻¹X)⁻¹ worked out by plain elimination', () => {
    const info = designInformation(uneven2);
    const n = uneven2.runs.length;
    const v = Array.from({ length: n }, (_, i) =>
      Array.from({ length: n }, (__, j) => (i === j ? 1 : 0) + (i % 5 === j % 5 ? 0.8 : 0)),
    );
    const x = Array.from({ length: n }, (_, i) => [...info.x.data.slice(i * 6, i * 6 + 6)]);
    const wanted = solved(product(transposed(x), product(solved(v), x)));
    for (const [i, row] of wanted.entries()) {
      for (const [j, value] of row.entries()) {
        expect(info.covariance.data[i * 6 + j]).toBeCloseTo(value, 11);
      }
    }
  });

  it('takes block differences out of the covariance', () => {
    const runs = grid(square, [-1, 1]).map((r, i) => ({ ...r, block: i < 2 ? 1 : 2 }));
    const terms = modelTerms('main', square);
    // Blocks follow factor a wholly.
    const info = designInformation({ factors: square, terms, runs });
    expect(info.aliased?.involved).toEqual([1, 3]);
    expect(coefficientVariances(info).map((v) => v === null)).toEqual([false, true, false, true]);
  });
});

function transposed(m: number[][]): number[][] {
  return m[0]!.map((_, j) => m.map((row) => row[j]!));
}
function product(a: number[][], b: number[][]): number[][] {
  return a.map((row) => b[0]!.map((_, j) => row.reduce((s, v, k) => s + v * b[k]![j]!, 0)));
}
function solved(m: number[][]): number[][] {
  const n = m.length;
  const a = m.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
  for (let c = 0; c < n; c++) {
    const lead = a[c]![c]!;
    a[c] = a[c]!.map((value) => value / lead);
    for (let r = 0; r < n; r++) {
      const f = a[r]![c]!;
      if (r !== c) a[r] = a[r]!.map((value, j) => value - f * a[c]![j]!);
    }
  }
  return a.map((row) => row.slice(n));
}

describe('term precision', () => {
  it('inflates by 1/(1 − R²) of two correlated columns', () => {
    const runs = [
      [-1, -1],
      [1, 1],
      [-1, -0.5],
      [1, 0.8],
      [0, 0.4],
    ].map(([a, b]) => run({ a: a!, b: b! }));
    const info = designInformation({ factors: square, terms: modelTerms('main', square), runs });
    const r = columnCorrelations(info).data[1 * 3 + 2]!;
    const inflations = varianceInflations(info);
    expect(inflations[0]).toBeNull();
    expect(inflations[1]).toBeCloseTo(1 / (1 - r * r), 10);
    expect(inflations[2]).toBeCloseTo(1 / (1 - r * r), 10);
    expect(estimateCorrelations(info).data[1 * 3 + 2]).toBeCloseTo(-r, 10);
  });

  it('judges hard factors between whole plots and easy ones within', () => {
    const factors: Factor[] = [{ name: 'a', low: -1, high: 1, changes: 'hard' }, easy('b')];
    const runs = [-1, 1, -1, 1].flatMap((a, w) => [-1, 1, 0].map((b) => run({ a, b }, w + 1)));
    const terms = modelTerms('interactions', factors);
    const info = designInformation({ factors, terms, runs, varianceRatios: [2, 0] });
    const stated = { coefficient: 1.5, sigma: 1, alpha: 0.05 };
    const [mean, a, b, ab] = termPrecisions(info, dfBudget(info), stated);
    expect([mean!.df, a!.df, b!.df, ab!.df]).toEqual([2, 2, 6, 6]);
    expect(a!.stratum).toBe('whole plots');
    // Var(a) = (σ_w² + σ²/3)/4 with σ_w² = 2σ²; b and ab have 8 runs at ±1.
    expect(a!.standardError).toBeCloseTo(Math.sqrt((2 + 1 / 3) / 4), 12);
    expect(b!.standardError).toBeCloseTo(Math.sqrt(1 / 8), 12);
    expect(a!.power).toBeCloseTo(tPowerTwoSided(1.5 / a!.standardError!, 2, 0.05), 12);
    expect(ab!.power).toBeCloseTo(tPowerTwoSided(1.5 * Math.sqrt(8), 6, 0.05), 12);
  });

  it('gives no power without error df and refuses noise of zero', () => {
    const given = { coefficient: 1, alpha: 0.05, standardError: 0.5 };
    expect(coefficientPower({ ...given, sigma: 1, df: 0 })).toBeNull();
    expect(() => coefficientPower({ ...given, sigma: 0, df: 3 })).toThrowError(
      expect.objectContaining({ code: 'out_of_domain' }),
    );
  });
});

describe('degrees of freedom', () => {
  it('splits the runs of a central composite as its analysis does', () => {
    const design = designOf({
      factors: square,
      model: 'quadratic',
      family: 'central composite',
      options: { centrePoints: 5 },
    });
    const budget = dfBudget(
      designInformation({
        factors: square,
        terms: modelTerms('quadratic', square),
        runs: design.runs,
      }),
    );
    // 13 runs: 6 for the model, 3 lack of fit, 4 pure error (Montgomery's 13-run example has these).
    expect(budget.strata).toEqual([
      { name: 'cells', units: 13, total: 13, model: 6, error: 7, lackOfFit: 3, pureError: 4 },
    ]);
  });

  it('does not count runs repeated in one whole plot as repeated whole plots', () => {
    const factors: Factor[] = [{ name: 'a', low: -1, high: 1, changes: 'hard' }, easy('b')];
    const runs = [-1, 0, 1].flatMap((a, w) => [-1, 1, 1].map((b) => run({ a, b }, w + 1)));
    const budget = dfBudget(
      designInformation({
        factors,
        terms: modelTerms('main', factors),
        runs,
        varianceRatios: [1, 0],
      }),
    );
    expect(budget.strata.map(({ pureError, lackOfFit }) => [pureError, lackOfFit])).toEqual([
      [0, 1],
      [3, 2],
    ]);
  });

  it('law: every stratum adds up', () => {
    for (const { total, model, error, lackOfFit, pureError } of dfBudget(designInformation(uneven2))
      .strata) {
      expect(model + error).toBe(total);
      expect(lackOfFit + pureError).toBe(error);
    }
  });
});

describe('alias matrix', () => {
  it('finds the generator of a half fraction', () => {
    const factors = [easy('a'), easy('b'), easy('c')];
    const runs = grid(factors.slice(0, 2), [-1, 1]).map(({ coded }) =>
      run({ ...coded, c: Number(coded.a) * Number(coded.b) }),
    );
    const info = designInformation({ factors, terms: modelTerms('main', factors), runs });
    const { estimated, leftOut, weights } = aliasMatrix(info, modelTerms('interactions', factors));
    expect(estimated).toEqual(['intercept', 'a', 'b', 'c']);
    expect(leftOut).toEqual(['a × b', 'a × c', 'b × c']);
    const table = estimated.map((_, i) => [...weights.data.slice(i * 3, i * 3 + 3)]);
    const wanted = [
      [0, 0, 0],
      [0, 0, 1],
      [0, 1, 0],
      [1, 0, 0],
    ];
    for (const [i, row] of wanted.entries())
      for (const [j, value] of row.entries()) expect(table[i]![j]).toBeCloseTo(value, 12);
  });
});

describe('leverages', () => {
  it('law: add up to the number of estimated columns, also with whole plots', () => {
    for (const design of [uneven, uneven2]) {
      const leverages = designLeverages(designInformation(design));
      expect(leverages.reduce((a, b) => a + b, 0)).toBeCloseTo(6, 10);
    }
  });
});

describe('prediction over the region', () => {
  it('averages exactly: the mean of the variance by 5-point Gauss–Legendre agrees', () => {
    const info = designInformation(uneven2);
    // Nodes and weights of order 5, exact to degree 9 (Abramowitz & Stegun 1964, table 25.4).
    const nodes = [
      0, 0.5384693101056831, -0.5384693101056831, 0.906179845938664, -0.906179845938664,
    ];
    const weights = [
      0.5688888888888889, 0.47862867049936647, 0.47862867049936647, 0.23692688505618908,
      0.23692688505618908,
    ];
    let sum = 0;
    for (const [i, a] of nodes.entries())
      for (const [j, b] of nodes.entries())
        sum += (weights[i]! * weights[j]! * predictionVariance(info, { a, b })) / 4;
    expect(averagePredictionVariance(info).value / sum).toBeCloseTo(1, 9);
  });

  it('samples a cut region within its stated error', () => {
    const terms = modelTerms('main', square);
    const info = designInformation({ factors: square, terms, runs: grid(square, [-1, 1]) });
    const constraints = [{ coefficients: { a: 1, b: 1 }, atMost: 0, says: 'lower half' }];
    const { value, samplingError } = averagePredictionVariance(info, { constraints });
    // On the triangle a + b ≤ 0 the second moments are 1/3 each: ¼(1 + 2/3).
    expect(samplingError).toBeGreaterThan(0);
    expect(samplingError).toBeLessThan(0.002);
    expect(Math.abs(value - (1 + 2 / 3) / 4)).toBeLessThan(5 * samplingError);
  });

  it('rises along the fraction of the region, from near the least to near the worst', () => {
    const info = designInformation(uneven);
    const { fractions, standardErrors } = fractionOfRegion(info);
    expect(fractions.length).toBe(101);
    for (let i = 1; i < 101; i++)
      expect(standardErrors[i]!).toBeGreaterThanOrEqual(standardErrors[i - 1]!);
    const worst = Math.sqrt(worstPrediction(info).variance);
    expect(standardErrors[100]!).toBeLessThanOrEqual(worst + 1e-12);
    expect(standardErrors[100]! / worst).toBeGreaterThan(0.9);
    const squares = [...standardErrors].reduce((sum, s) => sum + (s * s) / 101, 0);
    expect(squares / averagePredictionVariance(info).value).toBeCloseTo(1, 1);
  });

  it('slices through a point and leaves out what a limit forbids', () => {
    const info = designInformation(uneven);
    const constraints = [{ coefficients: { a: 1 }, atMost: 0.5, says: 'a low' }];
    const [a, b] = predictionSlices(info, { steps: 4, constraints });
    expect(a!.settings).toEqual([-1, -0.5, 0, 0.5, 1]);
    expect(a!.standardErrors[4]).toBeNull();
    expect(a!.standardErrors[3]).toBeCloseTo(
      Math.sqrt(predictionVariance(info, { a: 0.5, b: 0 })),
      12,
    );
    expect(b!.standardErrors.every((s) => s !== null)).toBe(true);
  });
});

describe('efficiencies', () => {
  it('are 100 % for an orthogonal two-level design of main effects (D, A, G)', () => {
    const info = designInformation({
      factors: square,
      terms: modelTerms('main', square),
      runs: grid(square, [-1, 1]),
    });
    const { d, a, g, i } = efficiencies(info);
    expect([d, a, g].map((value) => Number(value!.toFixed(9)))).toEqual([100, 100, 100]);
    // Average variance is (1 + 2/3)/4, so p/n over it is 3/(5/3).
    expect(i).toBeCloseTo(180, 9);
  });

  it('law: G never passes 100 % (Kiefer & Wolfowitz 1960)', () => {
    expect(efficiencies(designInformation(uneven)).g!).toBeLessThanOrEqual(100 + 1e-9);
  });
});

describe('lost cells', () => {
  it.each([
    ['uncorrelated', uneven],
    ['in whole plots', uneven2],
  ] as const)('agree with leaving each run out and working all out again, %s', (_, design) => {
    const before = averagePredictionVariance(designInformation(design)).value;
    for (const cell of lostCells(designInformation(design))) {
      const runs = design.runs.filter((__, i) => i !== cell.run - 1);
      const after = averagePredictionVariance(designInformation({ ...design, runs })).value;
      if (cell.kind !== 'grows') throw new Error('no run is indispensable here');
      expect(cell.growth).toBeCloseTo(after / before, 9);
    }
  });

  it('names the terms that hang on one run', () => {
    const line = [easy('a')];
    const runs = [-1, -1, 1, 1, 0].map((a) => run({ a }));
    const info = designInformation({ factors: line, terms: modelTerms('quadratic', line), runs });
    const worst = worstLostCell(lostCells(info))!;
    expect(worst).toEqual({ kind: 'loses-terms', run: 5, terms: ['intercept', 'a²'] });
  });
});

describe('designProperties', () => {
  it('says in words what a half fraction cannot tell', () => {
    const factors = [easy('level'), easy('screw'), easy('fan')];
    const runs = grid(factors.slice(0, 2), [-1, 1]).map(({ coded }) =>
      run({ ...coded, fan: Number(coded.level) * Number(coded.screw) }),
    );
    const design = { family: 'test', factors, runs, notes: [] };
    const { cannotTell } = designProperties(design, { model: 'main' });
    expect(cannotTell.map(({ words }) => words)).toMatchInlineSnapshot(`
      [
        "An effect of level cannot be told from one of screw × fan, which the model leaves out.",
        "An effect of screw cannot be told from one of level × fan, which the model leaves out.",
        "An effect of fan cannot be told from one of level × screw, which the model leaves out.",
        "No degrees of freedom are left between runs to judge level, screw, fan: the 4 runs are used up by the model. Add runs or drop terms.",
        "If any one run fails, not all terms can be estimated any more (intercept, level, screw, fan).",
      ]
    `);
  });

  it('says which terms runs mix up, and still tells the others', () => {
    const design = { family: 'test', factors: square, runs: grid(square, [-1, 1]), notes: [] };
    const { cannotTell, terms, efficiencies: e } = designProperties(design, { model: 'quadratic' });
    expect(cannotTell[0]!.words).toMatchInlineSnapshot(
      `"These runs cannot tell: a² cannot be told from intercept; b² cannot be told from intercept."`,
    );
    const told = terms.filter(({ standardError }) => standardError !== null);
    expect(told.map(({ name }) => name)).toEqual(['a', 'b', 'a × b']);
    expect(e.d).toBeNull();
  });

  it('warns of whole plots that leave little to judge by', () => {
    const factors: Factor[] = [{ name: 'zones', low: -1, high: 1, changes: 'hard' }, easy('fan')];
    const runs = [-1, 1, 1].flatMap((zones, w) =>
      [-1, 0, 1].map((fan) => run({ zones, fan }, w + 1)),
    );
    const design = { family: 'test', factors, runs, notes: [] };
    const { cannotTell, varianceRatios } = designProperties(design, { model: 'main' });
    expect(varianceRatios).toEqual([1, 0]);
    expect(cannotTell.map(({ words }) => words).join('\n')).toContain(
      'Only 1 degree of freedom is left between whole plots to judge zones',
    );
  });
});
