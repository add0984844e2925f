import {
  brokenConstraints,
  type Design,
  DomainError,
  designInformation,
  designOf,
  type Factor,
  modelTerms,
  type OptimalFound,
  type OptimalOutcome,
  type OptimalProblem,
  optimalDesign,
  optimalRefusal,
  optimalSearch,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';

const numeric = (name: string, changes: 'easy' | 'semi-hard' | 'hard' = 'easy'): Factor => ({
  name,
  low: -1,
  high: 1,
  changes,
});
const line: Factor[] = [
  numeric('level', 'hard'),
  numeric('tilt', 'hard'),
  numeric('screw', 'semi-hard'),
  numeric('fan'),
];

function problem(rest: Partial<OptimalProblem> = {}): OptimalProblem {
  const factors = rest.factors ?? [numeric('screw'), numeric('fan')];
  return {
    factors,
    terms: modelTerms('quadratic', factors),
    criterion: 'D',
    structure: { kind: 'runs', runs: 12 },
    seed: 5,
    ...rest,
  };
}

function found(outcome: OptimalOutcome): OptimalFound {
  if (outcome.kind !== 'found') throw new Error(`refused: ${outcome.words}`);
  return outcome;
}

const settings = (design: Design, name: string) => design.runs.map(({ coded }) => coded[name]);

describe('optimalDesign', () => {
  it('gives the criterion that the design itself has', () => {
    for (const criterion of ['D', 'A', 'I'] as const) {
      const search = problem({
        criterion,
        factors: line,
        structure: {
          kind: 'split-plot',
          wholePlots: 10,
          subPlots: 2,
          cells: 2,
          varianceRatio: 0.7,
          subVarianceRatio: 0.4,
        },
      });
      const { design, best } = found(optimalDesign(search, { starts: 2 }));
      const { logDeterminant, covariance } = designInformation({
        factors: line,
        terms: search.terms,
        runs: design.runs,
        varianceRatios: [0.7, 0.4],
      });
      if (criterion === 'D') expect(best.criterion).toBeCloseTo(logDeterminant, 9);
      if (criterion === 'A') {
        const p = covariance.cols;
        const trace = [...Array(p).keys()].reduce((sum, i) => sum + covariance.data[i * p + i]!, 0);
        expect(best.criterion / trace).toBeCloseTo(1, 9);
      }
    }
  });

  it('reports progress, stops when asked and keeps the best so far', () => {
    const seen: number[] = [];
    const outcome = found(
      optimalDesign(problem(), {
        starts: 50,
        onProgress: ({ best }) => seen.push(best.score),
        cancelled: () => seen.length === 7,
      }),
    );
    expect(outcome).toMatchObject({ startsDone: 7, isCancelled: true });
    expect(seen).toEqual([...seen].sort((a, b) => a - b));
    expect(outcome.best.score).toBe(seen[6]);
    expect(outcome.design.notes.join(' ')).toContain('stopped early');
  });

  it('can be stepped from outside', () => {
    const steps = [...optimalSearch(problem(), 3)];
    expect(steps.map(({ startsDone }) => startsDone)).toEqual([1, 2, 3]);
  });

  it('keeps included runs as they are, first, and plans around them', () => {
    const done = [
      { coded: { screw: 0.3, fan: -0.7 } },
      { coded: { screw: 0, fan: 0 } },
      { coded: { screw: 1, fan: 1 } },
    ];
    const search = problem({ included: done, structure: { kind: 'runs', runs: 5 } });
    const { design } = found(optimalDesign(search, { starts: 5 }));
    expect(design.runs.length).toBe(8);
    expect(design.runs.slice(0, 3).map(({ coded }) => coded)).toEqual(done.map((d) => d.coded));
  });

  it('judges a wholly given design when no new runs are asked', () => {
    const included = found(optimalDesign(problem(), { starts: 3 })).design.runs.map((run) => ({
      coded: run.coded,
    }));
    const { best, design } = found(
      optimalDesign(problem({ included, structure: { kind: 'runs', runs: 0 } }), { starts: 1 }),
    );
    expect(design.runs.map(({ coded }) => coded)).toEqual(included.map(({ coded }) => coded));
    expect(Number.isFinite(best.criterion)).toBe(true);
  });

  it('takes only the given levels of a discrete numeric factor', () => {
    const search = problem({ levels: { screw: [-1, -0.2, 0.6, 1] } });
    const { design } = found(optimalDesign(search, { starts: 5 }));
    expect(settings(design, 'screw').every((v) => [-1, -0.2, 0.6, 1].includes(Number(v)))).toBe(
      true,
    );
  });

  it('balances named levels and crosses them with numeric factors', () => {
    const factors: Factor[] = [
      { name: 'nozzle', levels: ['2 mm', '3 mm', '4 mm'], changes: 'easy' },
      numeric('screw'),
    ];
    const search = problem({
      factors,
      terms: modelTerms('interactions', factors),
      structure: { kind: 'runs', runs: 12 },
    });
    const { design, best } = found(optimalDesign(search, { starts: 10 }));
    for (const nozzle of ['2 mm', '3 mm', '4 mm']) {
      const runs = design.runs.filter(({ coded }) => coded.nozzle === nozzle);
      expect(runs.map(({ coded }) => coded.screw).sort()).toEqual([-1, -1, 1, 1]);
    }
    // Three balanced levels, sum to zero: det of [[8, 4], [4, 8]] = 48, once for means, once for slopes.
    expect(best.criterion).toBeCloseTo(2 * Math.log(12 * 48), 9);
  });

  it('spreads treatments over blocks as orthogonally as they allow', () => {
    const factors = [numeric('a'), numeric('b'), numeric('c')];
    const search = problem({
      factors,
      terms: modelTerms('main', factors),
      structure: { kind: 'runs', runs: 8, blocks: [4, 4] },
      levels: { a: [-1, 1], b: [-1, 1], c: [-1, 1] },
    });
    const { design, best } = found(optimalDesign(search, { starts: 20 }));
    expect(design.runs.map(({ block }) => block)).toEqual([1, 1, 1, 1, 2, 2, 2, 2]);
    expect(best.criterion).toBeCloseTo(5 * Math.log(8), 9);
  });

  it('never lets forbidden settings meet', () => {
    const factors: Factor[] = [
      { name: 'nozzle', levels: ['2 mm', '4 mm'], changes: 'easy' },
      numeric('screw'),
    ];
    const search = problem({
      factors,
      terms: modelTerms('interactions', factors),
      forbidden: [{ nozzle: '2 mm', screw: { from: 0.5, to: 1 } }],
      structure: { kind: 'runs', runs: 8 },
    });
    for (const criterion of ['D', 'I'] as const) {
      const { design } = found(optimalDesign({ ...search, criterion }, { starts: 5 }));
      for (const { coded } of design.runs) {
        expect(coded.nozzle === '2 mm' && Number(coded.screw) >= 0.5).toBe(false);
      }
      expect(new Set(settings(design, 'nozzle')).size).toBe(2);
    }
  });

  it('says the sampling error of an average over a cut region', () => {
    const constraints = [
      { coefficients: { screw: 1, fan: 1 }, atMost: 0.8, says: 'not both high' },
    ];
    const { momentError, design } = found(
      optimalDesign(problem({ criterion: 'I', constraints }), { starts: 3 }),
    );
    expect(momentError!).toBeGreaterThan(0);
    expect(momentError!).toBeLessThan(0.01);
    expect(design.notes.join(' ')).toContain('sampling error');
    const whole = found(optimalDesign(problem({ criterion: 'I' }), { starts: 1 }));
    expect(whole.momentError).toBe(0);
  });

  it('finds the largest triangle in a cut square for a plane in three runs', () => {
    const constraints = [
      { coefficients: { screw: 1, fan: 2 }, atMost: 1.2, says: 'first cut' },
      { coefficients: { screw: -2, fan: 1 }, atMost: 1.5, says: 'second cut' },
    ];
    const factors = [numeric('screw'), numeric('fan')];
    const search = problem({
      constraints,
      terms: modelTerms('main', factors),
      structure: { kind: 'runs', runs: 3 },
    });
    const { best } = found(optimalDesign(search, { starts: 30 }));
    // |X|² = (2 · area)²; a largest inscribed triangle stands on the polygon's corners.
    const corners = polygonCorners(
      constraints.map(({ coefficients: c, atMost }) => [c.screw, c.fan, atMost]),
    );
    let twiceArea = 0;
    for (const a of corners)
      for (const b of corners)
        for (const c of corners) {
          const cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
          twiceArea = Math.max(twiceArea, cross);
        }
    expect(best.criterion).toBeCloseTo(2 * Math.log(twiceArea), 8);
  });

  it('makes if-possible terms estimable without costing the primary terms much', () => {
    const factors = [numeric('a'), numeric('b'), numeric('c'), numeric('d')];
    const main = modelTerms('main', factors);
    const interactions = modelTerms('interactions', factors).slice(main.length);
    const search = problem({
      factors,
      terms: main,
      ifPossible: interactions,
      structure: { kind: 'runs', runs: 8 },
      levels: Object.fromEntries(factors.map(({ name }) => [name, [-1, 1]])),
    });
    const { design } = found(optimalDesign(search, { starts: 50 }));
    const own = designInformation({ factors, terms: main, runs: design.runs });
    // Main effects stay orthogonal and clear of the interactions: the resolution IV half fraction.
    expect(own.logDeterminant).toBeCloseTo(5 * Math.log(8), 9);
    const withOne = designInformation({
      factors,
      terms: [...main, interactions[0]!],
      runs: design.runs,
    });
    expect(withOne.logDeterminant).toBeCloseTo(6 * Math.log(8), 9);
  });
});

describe('split-plot designs', () => {
  const structure = { kind: 'split-plot', wholePlots: 8, cells: 3, varianceRatio: 1 } as const;

  it('holds hard factors within whole plots and semi-hard ones within sub-whole plots', () => {
    const { design } = found(
      optimalDesign(
        problem({
          factors: line,
          structure: { ...structure, wholePlots: 9, subPlots: 2, subVarianceRatio: 0.5, cells: 2 },
        }),
        { starts: 2 },
      ),
    );
    expect(design.runs.length).toBe(36);
    const perWhole = distinctPer(design, 'wholePlot', ['level', 'tilt']);
    const perSub = distinctPer(design, 'subWholePlot', ['level', 'tilt', 'screw']);
    expect(perWhole).toEqual(Array(9).fill(1));
    expect(perSub).toEqual(Array(18).fill(1));
    expect(distinctPer(design, 'subWholePlot', ['fan']).some((count) => count > 1)).toBe(true);
  });

  it('repeats hard settings in as many whole plots as asked', () => {
    const factors = [numeric('level', 'hard'), numeric('fan')];
    const { design } = found(
      optimalDesign(problem({ factors, structure: { ...structure, replicates: 3 } }), {
        starts: 4,
      }),
    );
    const level = (plot: number) => design.runs.find((run) => run.wholePlot === plot)!.coded.level;
    for (const [first, repeat] of [
      [1, 6],
      [2, 7],
      [3, 8],
    ] as const) {
      expect(level(repeat)).toBe(level(first));
    }
  });

  it('equals the best of all two-level designs, D, A and I, one hard and one easy factor', () => {
    const factors = [numeric('level', 'hard'), numeric('fan')];
    const terms = modelTerms('interactions', factors);
    for (const varianceRatio of [0.3, 5]) {
      const all = allTwoLevel(factors, varianceRatio);
      for (const criterion of ['D', 'A', 'I'] as const) {
        const search = problem({
          factors,
          terms,
          criterion,
          levels: { level: [-1, 1], fan: [-1, 1] },
          structure: {
            kind: 'split-plot',
            wholePlots: 4,
            cells: 2,
            varianceRatio,
            minimumWholePlotDf: 0,
          },
        });
        const { best } = found(optimalDesign(search, { starts: 20 }));
        expect(best.score, `${criterion} at ${varianceRatio}`).toBeCloseTo(all[criterion], 9);
      }
    }
  });
});

/** Best score over every assignment of ±1 to 4 whole plots of 2 cells. */
function allTwoLevel(factors: Factor[], ratio: number): Record<'D' | 'A' | 'I', number> {
  const best = { D: -Infinity, A: -Infinity, I: -Infinity };
  const terms = modelTerms('interactions', factors);
  const sign = (code: number, bit: number) => ((code >> bit) & 1 ? 1 : -1);
  for (let hard = 0; hard < 16; hard++) {
    for (let easy = 0; easy < 256; easy++) {
      const runs = Array.from({ length: 8 }, (_, i) => ({
        coded: { level: sign(hard, i >> 1), fan: sign(easy, i) },
        block: 1,
        wholePlot: (i >> 1) + 1,
        subWholePlot: null,
      }));
      const info = designInformation({ factors, terms, runs, varianceRatios: [ratio, 0] });
      if (info.aliased) continue;
      const c = (i: number) => info.covariance.data[i * 4 + i]!;
      best.D = Math.max(best.D, info.logDeterminant);
      best.A = Math.max(best.A, -(c(0) + c(1) + c(2) + c(3)));
      // Moments of 1, x, z, xz on the square: 1, 1/3, 1/3, 1/9, and no cross moments.
      best.I = Math.max(best.I, -(c(0) + c(1) / 3 + c(2) / 3 + c(3) / 9));
    }
  }
  return best;
}

function distinctPer(
  design: Design,
  plot: 'wholePlot' | 'subWholePlot',
  names: string[],
): number[] {
  const groups = new Map<number, Set<string>>();
  for (const run of design.runs) {
    const key = run[plot]!;
    const set = groups.get(key) ?? new Set<string>();
    set.add(names.map((name) => run.coded[name]).join(' '));
    groups.set(key, set);
  }
  return [...groups.values()].map((set) => set.size);
}

function polygonCorners(cuts: number[][]): [number, number][] {
  const lines = [...cuts, [1, 0, 1], [-1, 0, 1], [0, 1, 1], [0, -1, 1]] as [
    number,
    number,
    number,
  ][];
  const corners: [number, number][] = [];
  for (const [i, [a, b, c]] of lines.entries()) {
    for (const [d, e, f] of lines.slice(i + 1)) {
      const det = a * e - b * d;
      if (Math.abs(det) < 1e-12) continue;
      const x = (c * e - b * f) / det;
      const y = (a * f - c * d) / det;
      if (lines.every(([p, q, r]) => p * x + q * y <= r + 1e-9)) corners.push([x, y]);
    }
  }
  return corners;
}

describe('refusals', () => {
  it('names a smallest set of limits that conflict', () => {
    const constraints = [
      { coefficients: { screw: 1 }, atMost: 0.9, says: 'harmless' },
      { coefficients: { screw: 1, fan: 1 }, atMost: -0.5, says: 'sum at most -0.5' },
      { coefficients: { screw: -1, fan: 1 }, atMost: 1.5, says: 'also harmless' },
      { coefficients: { screw: -1, fan: -1 }, atMost: 0.4, says: 'sum at least -0.4' },
    ];
    const refusal = optimalRefusal(problem({ constraints }));
    expect(refusal).toMatchObject({
      kind: 'conflicting-limits',
      constraints: [{ says: 'sum at most -0.5' }, { says: 'sum at least -0.4' }],
    });
    expect(refusal!.words).toMatchInlineSnapshot(
      `"No setting within the ranges is allowed: "sum at most -0.5", "sum at least -0.4" together leave no room. Relax one of them or widen a range."`,
    );
  });

  it('names forbidden combinations that leave nothing', () => {
    const factors: Factor[] = [{ name: 'nozzle', levels: ['2 mm', '4 mm'], changes: 'easy' }];
    const forbidden = [{ nozzle: '2 mm' }, { nozzle: '4 mm' }];
    expect(
      optimalRefusal(problem({ factors, terms: modelTerms('main', factors), forbidden })),
    ).toMatchObject({ kind: 'conflicting-limits', forbidden });
  });

  it('says how many runs are needed', () => {
    expect(optimalRefusal(problem({ structure: { kind: 'runs', runs: 5 } }))).toMatchObject({
      kind: 'too-few-runs',
      got: 5,
      needed: 6,
    });
  });

  it('says when no whole plots are left to judge the hard factors by', () => {
    const factors = [numeric('level', 'hard'), numeric('fan')];
    const structure = { kind: 'split-plot', wholePlots: 3, cells: 4, varianceRatio: 1 } as const;
    const refusal = optimalRefusal(problem({ factors, structure }));
    expect(refusal).toMatchObject({ kind: 'too-few-whole-plots', got: 3, needed: 4, df: 0 });
    expect(refusal!.words).toMatchInlineSnapshot(
      `"3 of the model's terms (mean and blocks counted) are judged between whole plots, and 1 must be left over; that needs 4 whole plots, got 3, which leaves 0. Add 1 or drop terms of the hard factors."`,
    );
  });

  it('says when no sub-whole plots are left', () => {
    const structure = {
      kind: 'split-plot',
      wholePlots: 8,
      subPlots: 1,
      cells: 4,
      varianceRatio: 1,
    } as const;
    expect(optimalRefusal(problem({ factors: line, structure }))).toMatchObject({
      kind: 'too-few-sub-whole-plots',
    });
  });

  it('names terms that no runs could tell', () => {
    expect(optimalRefusal(problem({ levels: { fan: [-1, 1] } }))).toMatchObject({
      kind: 'not-estimable',
      terms: ['fan²'],
    });
  });

  it.each([
    ['unknown_factor', { constraints: [{ coefficients: { scew: 1 }, atMost: 0, says: 'x' }] }],
    ['bad_levels', { levels: { screw: [0, 2] } }],
    ['bad_structure', { structure: { kind: 'runs', runs: 2.5 } }],
    ['block_sizes', { structure: { kind: 'runs', runs: 12, blocks: [4, 4] } }],
    ['missing_setting', { included: [{ coded: { screw: 0 } }] }],
  ] as const)('throws %s', (code, rest) => {
    const act = () => optimalDesign(problem(rest as Partial<OptimalProblem>), { starts: 1 });
    expect(act).toThrowError(DomainError);
    expect(act).toThrowError(expect.objectContaining({ code }));
  });
});

describe('family "optimal"', () => {
  it('makes a split plot of hard factors with whole plots to judge them by', () => {
    const design = designOf({
      factors: line.slice(0, 3),
      model: 'quadratic',
      family: 'optimal',
      options: { starts: 3 },
    });
    expect(new Set(design.runs.map(({ wholePlot }) => wholePlot)).size).toBe(8);
    expect(design.family).toBe('optimal');
  });

  it('keeps limits and takes natural units', () => {
    const factors: Factor[] = [
      { name: 'screw', low: 2, high: 8, changes: 'easy' },
      { name: 'fan', low: 0, high: 100, changes: 'easy' },
    ];
    const constraints = [{ coefficients: { screw: 1, fan: -1 }, atMost: 0.5, says: 'cool enough' }];
    const { runs } = designOf({
      factors,
      model: 'quadratic',
      family: 'optimal',
      constraints,
      options: {
        runs: 10,
        starts: 3,
        levels: { screw: [2, 4, 5, 8] },
        included: [{ screw: 5, fan: 50 }],
      },
    });
    expect(runs.length).toBe(10);
    expect(runs[0]!.coded).toEqual({ screw: 0, fan: 0 });
    const allowed = [2, 4, 5, 8].map((v) => (v - 5) / 3);
    for (const { coded } of runs) {
      expect(brokenConstraints(coded, constraints)).toEqual([]);
      expect(Math.min(...allowed.map((v) => Math.abs(v - Number(coded.screw))))).toBeLessThan(
        1e-12,
      );
    }
  });

  it('throws the refusal by name', () => {
    const act = () =>
      designOf({
        factors: line,
        model: 'quadratic',
        family: 'optimal',
        options: { wholePlots: 4 },
      });
    expect(act).toThrowError(expect.objectContaining({ code: 'too_few_whole_plots' }));
  });
});
