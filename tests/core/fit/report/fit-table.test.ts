import {
  type Cell,
  FitResult,
  fitTable,
  type ResponseFit,
  type RunTable,
  Spec,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataTable, expectClose, expectedOf } from '../../../reference/dataset.ts';

// Invented runs of two factors on a face-centred design with three centre runs, unless said otherwise.
const design = [
  [-1, -1],
  [1, -1],
  [-1, 1],
  [1, 1],
  [-1, 0],
  [1, 0],
  [0, -1],
  [0, 1],
  [0, 0],
  [0, 0],
  [0, 0],
] as const;
const scatter = [0.3, -0.2, 0.1, 0.4, -0.5, 0.2, -0.1, 0.6, -0.3, 0.25, -0.15];

const factors = [
  { name: 'level', low: 190, high: 210, changes: 'easy' },
  { name: 'screw', low: 5, high: 15, changes: 'easy' },
];

function spec(over: Record<string, unknown> = {}): Spec {
  return Spec.parse({ factors, responses: [{ name: 'output', kind: 'continuous' }], ...over });
}

function runs(
  output: (level: number, screw: number, i: number) => Cell,
  points: readonly (readonly [number, number])[] = design,
): Record<string, Cell[]> {
  return {
    level: points.map(([level]) => 200 + 10 * level),
    screw: points.map(([, screw]) => 10 + 5 * screw),
    output: points.map(([level, screw], i) => output(level, screw, i)),
  };
}

const curved = (level: number, screw: number, i: number): number =>
  20 + 3 * level + 4 * screw - 2 * level ** 2 - screw ** 2 + (scatter[i] ?? 0);

function only(theSpec: Spec, table: RunTable, units?: 'coded' | 'natural'): ResponseFit {
  const result = fitTable({ spec: theSpec, table, ...(units ? { units } : {}) });
  // What goes out as JSON must come back under the published schema.
  expect(FitResult.parse(JSON.parse(JSON.stringify(result)))).toEqual(result);
  return result.responses[0]!;
}

const kinds = (fit: ResponseFit): string[] => fit.cannotSay.map(({ kind }) => kind);
const says = (fit: ResponseFit, kind: string): string =>
  fit.cannotSay.find((entry) => entry.kind === kind)!.says;

describe('fitTable on published runs', () => {
  it('matches the chemical process (Montgomery, Table 11.6) from natural units', () => {
    const table = dataTable('chemical-process');
    const wanted = expectedOf('chemical-process').yield;
    const column = (name: string): number[] =>
      table.rows.map((row) => row[table.columns.indexOf(name)]!);
    const theSpec = Spec.parse({
      factors: [
        { name: 'time', low: 80, high: 90 },
        { name: 'temp', low: 170, high: 180 },
      ],
      responses: [{ name: 'yield', kind: 'continuous' }],
    });
    const fit = only(theSpec, {
      time: column('time'),
      temp: column('temp'),
      yield: column('yield'),
    });
    expect(fit.method).toBe('least squares');
    // Axial settings 92.07 … are exactly ±1.414 coded, so the coded reference holds.
    const labels = ['(Intercept)', 'x1', 'x2', 'x1:x2', 'I(x1^2)', 'I(x2^2)'];
    for (const [j, label] of labels.entries()) {
      expectClose(fit.terms[j]!.estimate, wanted.coefficients[label].estimate, 1e-9, label);
      expectClose(fit.terms[j]!.standardError!, wanted.coefficients[label].se, 1e-9, label);
      expectClose(fit.terms[j]!.p!, wanted.coefficients[label].p, 1e-7, label);
    }
    expectClose(fit.rSquared!, wanted.fit.r2, 1e-10, 'R²');
    expectClose(fit.predictiveRSquared!, wanted.fit.r2_pred, 1e-9, 'predictive R²');
    expectClose(fit.lackOfFit!.f!, wanted.lack_of_fit.F, 1e-8, 'lack of fit');
    expectClose(fit.bic!, wanted.fit.bic_R, 1e-9, 'BIC');
    expect(fit.stationaryPoint!.nature).toBe('maximum');
    expectClose(
      fit.stationaryPoint!.natural!['time']!,
      85 + 5 * wanted.canonical.stationary[0],
      1e-9,
      'time',
    );
    expect(kinds(fit)).toEqual([]);
  });
});

describe('fitTable and honest answers', () => {
  it('gives the same numbers from coded and natural units', () => {
    const natural = only(spec(), runs(curved));
    const coded = only(
      spec(),
      {
        level: design.map(([level]) => level),
        screw: design.map(([, screw]) => screw),
        output: runs(curved)['output']!,
      },
      'coded',
    );
    for (const [j, term] of natural.terms.entries())
      expect(term.estimate).toBeCloseTo(coded.terms[j]!.estimate, 10);
  });

  it('names a constant response and still gives its value', () => {
    const fit = only(
      spec(),
      runs(() => 17),
    );
    expect(kinds(fit)).toContain('constant-response');
    expect(says(fit, 'constant-response')).toMatchInlineSnapshot(
      `"output was 17 in every run used: no setting can be seen to change it, and nothing says how surely."`,
    );
    expect(fit.terms[0]!.estimate).toBeCloseTo(17, 12);
    for (const term of fit.terms.slice(1)) expect(Math.abs(term.estimate)).toBeLessThan(1e-12);
    for (const term of fit.terms) expect([term.standardError, term.p]).toEqual([null, null]);
    expect([fit.rSquared, fit.stationaryPoint]).toEqual([null, null]);
  });

  it('names a constant factor and fits the rest', () => {
    const flat = design.map(([, screw]) => [0.5, screw] as const);
    const fit = only(
      spec(),
      runs((_, screw, i) => 20 + 4 * screw + scatter[i]!, flat),
    );
    expect(says(fit, 'constant-factor')).toMatchInlineSnapshot(
      `"level did not change in the runs used (coded 0.5), so nothing can be said of it."`,
    );
    expect(fit.cannotSay.find(({ kind }) => kind === 'constant-factor')!.terms).toEqual([
      'level',
      'level × screw',
      'level²',
    ]);
    expect(fit.terms.map(({ name }) => name)).toEqual(['intercept', 'screw', 'screw²']);
    expect(fit.terms[1]!.estimate).toBeGreaterThan(3);
  });

  it('names aliased terms and what they are aliased with', () => {
    const theSpec = Spec.parse({
      factors: ['a', 'b', 'c'].map((name) => ({ name, low: -1, high: 1 })),
      responses: [{ name: 'y', kind: 'continuous' }],
      model: 'interactions',
    });
    // Half fraction of 2³ with c = ab, run twice.
    const half = [
      [-1, -1, 1],
      [1, -1, -1],
      [-1, 1, -1],
      [1, 1, 1],
    ];
    const both = [...half, ...half];
    const fit = only(theSpec, {
      a: both.map((p) => p[0]!),
      b: both.map((p) => p[1]!),
      c: both.map((p) => p[2]!),
      y: both.map((p, i) => 5 + p[0]! + 0.5 * p[2]! + scatter[i]!),
    });
    // Seven terms on four settings: told as too many terms, with the list.
    expect(kinds(fit)).toContain('more-terms-than-runs');
    expect(says(fit, 'more-terms-than-runs')).toMatchInlineSnapshot(
      `"7 terms need at least 7 different settings; got 4. Not estimable: a × b, a × c, b × c. What is estimated holds only if these are zero. a × b cannot be told from c; a × c cannot be told from b; b × c cannot be told from a."`,
    );
    expect(fit.terms.map(({ name }) => name)).toEqual(['intercept', 'a', 'b', 'c']);
    expect(fit.terms[1]!.standardError).toBeGreaterThan(0);
  });

  it('names relations between columns when settings would suffice in number', () => {
    const theSpec = Spec.parse({
      factors: ['a', 'b', 'c'].map((name) => ({ name, low: -1, high: 1 })),
      responses: [{ name: 'y', kind: 'continuous' }],
      model: { terms: [{ a: 1 }, { b: 1 }, { c: 1 }] },
    });
    const rows = [
      [-1, -1],
      [1, -1],
      [-1, 1],
      [1, 1],
      [0, 0],
      [0.5, 0.2],
    ];
    const fit = only(theSpec, {
      a: rows.map((p) => p[0]!),
      b: rows.map((p) => p[1]!),
      c: rows.map((p) => (p[0]! - p[1]!) / 2),
      y: rows.map((p, i) => 5 + p[0]! + scatter[i]!),
    });
    expect(says(fit, 'aliased')).toMatchInlineSnapshot(
      `"The runs cannot tell some terms apart: c cannot be told from 0.5 a − 0.5 b. Left out: c; the estimates of their partners contain them."`,
    );
    expect(fit.terms.map(({ name }) => name)).toEqual(['intercept', 'a', 'b']);
  });

  it('fits what can be fitted of more terms than runs', () => {
    const few = design.slice(0, 4);
    const fit = only(spec(), runs(curved, few));
    expect(kinds(fit)).toEqual(['more-terms-than-runs', 'saturated']);
    expect(fit.terms.map(({ name }) => name)).toEqual([
      'intercept',
      'level',
      'screw',
      'level × screw',
    ]);
    expect(fit.terms.every(({ standardError }) => standardError === null)).toBe(true);
    expect(fit.covariance).toBeNull();
  });

  it('answers a single run', () => {
    const fit = only(spec(), runs(curved, [[0, 0]]));
    expect(fit.terms.map(({ name }) => name)).toEqual(['intercept']);
    expect(kinds(fit)).toContain('saturated');
  });

  it('says so when the fit is perfect', () => {
    const fit = only(
      spec(),
      runs((level, screw) => 20 + 3 * level - screw ** 2),
    );
    expect(kinds(fit)).toContain('perfect-fit');
    expect(fit.terms.find(({ name }) => name === 'level')!.estimate).toBeCloseTo(3, 12);
    expect(fit.terms.every(({ p }) => p === null)).toBe(true);
    expect(fit.rSquared).toBeCloseTo(1, 12);
  });

  it('keeps its digits under a huge offset', () => {
    const plain = only(
      spec(),
      runs((l, s, i) => 0.001 * curved(l, s, i)),
    );
    const lifted = only(
      spec(),
      runs((l, s, i) => 1e6 + 0.001 * curved(l, s, i)),
    );
    // Values near 1e6 are themselves rounded to 1.2e-10, 1e-7 of the 0.001 that matters.
    for (const [j, term] of plain.terms.entries()) {
      if (j === 0) continue;
      expect(Math.abs(lifted.terms[j]!.estimate - term.estimate)).toBeLessThan(1e-9);
      expectClose(lifted.terms[j]!.standardError!, term.standardError!, 1e-5, term.name);
    }
    expectClose(lifted.rSquared!, plain.rSquared!, 1e-6, 'R²');
    expectClose(lifted.anova!.model.f!, plain.anova!.model.f!, 1e-5, 'F');
    expectClose(lifted.lackOfFit!.f!, plain.lackOfFit!.f!, 1e-4, 'lack of fit');
  });

  it('keeps its digits when a factor sits far from zero for its range', () => {
    const theSpec = spec({ factors: [{ name: 'level', low: 1e6, high: 1e6 + 0.001 }, factors[1]] });
    const table = runs(curved);
    table['level'] = design.map(([level]) => 1e6 + 0.0005 + 0.0005 * level);
    const fit = only(theSpec, table);
    const plain = only(spec(), runs(curved));
    for (const [j, term] of plain.terms.entries())
      expectClose(fit.terms[j]!.estimate, term.estimate, 1e-5, term.name);
  });

  it('takes tied values as they are', () => {
    const fit = only(
      spec(),
      runs((level) => Math.round(10 + level)),
    );
    expect(fit.terms.find(({ name }) => name === 'level')!.estimate).toBeCloseTo(1, 10);
  });

  it('counts failed cells, names their rows and fits the others', () => {
    const fit = only(
      spec(),
      runs((l, s, i) => (i === 2 || i === 9 ? null : curved(l, s, i))),
    );
    expect(fit.cells).toEqual({ total: 11, used: 9, failed: [3, 10], leftOut: [] });
    expect(says(fit, 'failed-cells')).toMatchInlineSnapshot(
      `"2 of 11 cells gave no output (rows 3, 10). The fit rests on the other 9 and does not know why these failed."`,
    );
    expect(fit.runs.map(({ row }) => row)).toEqual([1, 2, 4, 5, 6, 7, 8, 9, 11]);
  });

  it('answers when all cells failed', () => {
    const fit = only(
      spec(),
      runs(() => null),
    );
    expect(kinds(fit)).toEqual(['all-failed']);
    expect(fit.method).toBe('none');
    expect(fit.cells.used).toBe(0);
    expect(says(fit, 'all-failed')).toMatchInlineSnapshot(
      `"Nothing can be fitted for output: none of the 11 cells has a value."`,
    );
  });

  it('answers an empty table', () => {
    const fit = only(spec(), { level: [], screw: [], output: [] });
    expect(kinds(fit)).toEqual(['all-failed']);
  });

  it('leaves out a run without a setting and says which', () => {
    const table = runs(curved);
    table['screw']![4] = null;
    const fit = only(spec(), table);
    expect(fit.cells.leftOut).toEqual([{ row: 5, why: 'no screw noted' }]);
    expect(kinds(fit)).toContain('left-out-runs');
  });

  it('says that lack of fit needs replicates', () => {
    const fit = only(spec(), runs(curved, design.slice(0, 9)));
    expect(fit.lackOfFit!.kind).toBe('no-replicates');
    expect(kinds(fit)).toContain('not-replicated');
  });

  it('says that a stationary point outside the runs is extrapolated', () => {
    const fit = only(
      spec(),
      runs((l, s, i) => curved(l, s, i) + 20 * l),
    );
    expect(fit.stationaryPoint!.isInside).toBe(false);
    expect(kinds(fit)).toContain('extrapolated');
  });
});

describe('fitTable and kinds of response', () => {
  const sd = { responses: [{ name: 'output', kind: 'spread', weight: 'n' }] };

  it('models a spread as its logarithm with weights', () => {
    const table = runs((l, s, i) => Math.exp(-4 + 0.3 * l + 0.05 * scatter[i]! + 0 * s));
    const even = only(spec(sd), { ...table, n: design.map(() => 30) });
    expect([even.method, even.scale]).toEqual(['weighted least squares', 'ln response']);
    expect(even.terms[1]!.estimate).toBeCloseTo(0.3, 1);
    const plain = only(spec({ responses: [{ name: 'output', kind: 'spread' }] }), table);
    // Equal weights change no estimate and no standard error.
    for (const [j, term] of plain.terms.entries())
      expectClose(even.terms[j]!.standardError!, term.standardError!, 1e-10, term.name);
  });

  it('refuses a spread of zero and names the row', () => {
    const table = runs((l, s, i) => (i === 6 ? 0 : Math.exp(l + s)));
    const fit = only(spec(sd), { ...table, n: design.map(() => 30) });
    expect(fit.method).toBe('none');
    expect(says(fit, 'invalid-value')).toMatchInlineSnapshot(
      `"output was not fitted: a spread must be above 0 to have a logarithm; got 0 (row 7). Mend the entry, or leave it empty when the cell failed."`,
    );
    expect(fit.cannotSay[0]!.rows).toEqual([7]);
  });

  it('models a count by its exposure', () => {
    const table: Record<string, Cell[]> = {
      ...runs((l, _, i) => Math.round(40 * Math.exp(0.5 * l)) + (i % 3)),
      metres: design.map(() => 8),
    };
    const fit = only(
      spec({ responses: [{ name: 'output', kind: 'count', exposure: 'metres' }], model: 'main' }),
      table,
    );
    expect(fit.scale).toBe('ln rate');
    expect(fit.terms[1]!.estimate).toBeCloseTo(0.5, 1);
    expect(fit.terms[0]!.estimate).toBeCloseTo(Math.log(5), 0);
  });

  it('models passing as log odds and says so when settings separate the outcomes', () => {
    const theSpec = spec({ responses: [{ name: 'output', kind: 'pass-fail' }], model: 'main' });
    const fit = only(
      theSpec,
      runs((l, s) => (l + 0.4 * s > 0.1 ? 'pass' : 'fail')),
    );
    expect([fit.method, fit.scale]).toEqual(['penalised likelihood', 'log odds']);
    expect(kinds(fit)).toEqual(['separated']);
    expect(fit.terms[1]!.estimate).toBeGreaterThan(0);
    expect(
      kinds(
        only(
          theSpec,
          runs(() => 'pass'),
        ),
      ),
    ).toEqual(['constant-response']);
    expect(
      kinds(
        only(
          theSpec,
          runs(() => 2),
        ),
      ),
    ).toEqual(['invalid-value']);
  });

  it('refuses a count that is not whole', () => {
    const fit = only(
      spec({ responses: [{ name: 'output', kind: 'count' }] }),
      runs((_, __, i) => (i === 0 ? 2.5 : i)),
    );
    expect(kinds(fit)).toEqual(['invalid-value']);
  });
});

describe('fitTable and structure', () => {
  it('fits blocks as effects that sum to zero', () => {
    const shift = [0, 1.5, -1.5];
    const blocks = design.map((_, i) => i % 3);
    const table = {
      ...runs((l, s, i) => curved(l, s, i) + shift[i % 3]!),
      day: blocks.map((b) => `day ${b + 1}`),
    };
    const fit = only(spec({ block: 'day', model: 'main' }), table);
    expect(fit.terms.map(({ name }) => name)).toEqual([
      'intercept',
      'day [day 1]',
      'day [day 2]',
      'level',
      'screw',
    ]);
    expect(fit.sourceTests.map(({ source, df }) => [source, df])).toEqual([
      ['day', 2],
      ['level', 1],
      ['screw', 1],
    ]);
  });

  it('does not take equal settings in two blocks for replicates', () => {
    const table = { ...runs(curved), day: design.map((_, i) => (i === 8 ? 1 : i === 9 ? 2 : 3)) };
    const fit = only(spec({ block: 'day', model: 'main' }), table);
    expect(fit.lackOfFit!.kind).toBe('no-replicates');
  });

  it('judges whole-plot terms between whole plots', () => {
    const points = [-1, -1, 1, 1, 0, 0, -1, 1].flatMap((level) =>
      [-1, 0, 1].map((screw) => [level, screw] as const),
    );
    const plot = points.map((_, i) => Math.floor(i / 3));
    const push = [0.8, -0.6, 0.5, -0.9, 0.3, -0.4, 0.7, -0.2];
    const table = {
      ...runs(
        (l, s, i) => 20 + 3 * l + s + push[Math.floor(i / 3)]! + 0.2 * (scatter[i % 11] ?? 0),
        points,
      ),
      plot: plot.map(String),
    };
    const fit = only(spec({ wholePlot: 'plot', model: 'main' }), table);
    expect(fit.method).toBe('restricted maximum likelihood');
    const [, level, screw] = fit.terms;
    expect(level!.df!).toBeCloseTo(6, 0);
    expect(screw!.df!).toBeCloseTo(15, 0);
    expect(level!.standardError!).toBeGreaterThan(3 * screw!.standardError!);
    expect(fit.strata.length).toBe(2);
    expect(fit.varianceComponents.length).toBe(2);
  });

  it('gives estimates without errors when the whole plots are too few', () => {
    const points = [-1, 1].flatMap((level) => [-1, 0, 1].map((screw) => [level, screw] as const));
    const table = { ...runs(curved, points), plot: points.map(([level]) => String(level)) };
    const fit = only(spec({ wholePlot: 'plot', model: 'main' }), table);
    expect(kinds(fit)).toContain('too-few-whole-plots');
    expect(fit.terms.every(({ standardError }) => standardError === null)).toBe(true);
  });

  it('gives counts an effect of each whole plot', () => {
    const points = [-1, -1, 1, 1, 0, 0, -1, 1].flatMap((level) =>
      [-1, 0, 1].map((screw) => [level, screw] as const),
    );
    const push = [0.5, -0.5, 0.4, -0.6, 0.3, -0.3, 0.5, -0.4];
    const table: Record<string, Cell[]> = {
      ...runs(
        (l, s, i) => Math.round(30 * Math.exp(0.4 * l + 0.1 * s + push[Math.floor(i / 3)]!)),
        points,
      ),
      plot: points.map((_, i) => Math.floor(i / 3)),
    };
    const theSpec = { responses: [{ name: 'output', kind: 'count' }], model: 'main' };
    const fit = only(spec({ ...theSpec, wholePlot: 'plot' }), table);
    const plain = only(spec(theSpec), table);
    expect(fit.method).toBe('Poisson with whole plots');
    expect(fit.varianceComponents[0]!.standardDeviation).toBeGreaterThan(0.2);
    expect(fit.terms[1]!.standardError!).toBeGreaterThan(plain.terms[2]!.standardError!);
    const pair = [-1, 1].flatMap((level) => [-1, 0, 1].map((screw) => [level, screw] as const));
    const two = only(spec({ ...theSpec, wholePlot: 'plot' }), {
      ...runs((l, s) => 10 + 2 * l + s, pair),
      plot: pair.map(([level]) => level),
    });
    expect(kinds(two)).toContain('too-few-whole-plots');
    expect(two.terms.every(({ p }) => p === null)).toBe(true);
  });

  it('tests the contrasts of a named factor together', () => {
    const nozzle = { name: 'nozzle', levels: ['2 mm', '3 mm', '4 mm'] };
    const rows = [0, 1, 2, 0, 1, 2, 0, 1, 2].map((level, i) => ({ level, screw: (i % 2) * 2 - 1 }));
    const theSpec = spec({ factors: [nozzle, factors[1]], model: 'main' });
    const fit = only(theSpec, {
      nozzle: rows.map(({ level }) => nozzle.levels[level]!),
      screw: rows.map(({ screw }) => 10 + 5 * screw),
      output: rows.map(({ level, screw }, i) => 10 + level + 2 * screw + scatter[i]!),
    });
    expect(fit.sourceTests.map(({ source, df }) => [source, df])).toEqual([
      ['nozzle', 2],
      ['screw', 1],
    ]);
    expect(fit.terms[1]!.powers).toEqual({ nozzle: '2 mm' });
  });
});

describe('fitTable and broken tables', () => {
  const failure = (run: () => unknown): string => {
    try {
      run();
    } catch (error) {
      return `${(error as { code: string }).code}: ${(error as Error).message}`;
    }
    return 'nothing thrown';
  };

  it('throws unknown_column with the nearest name', () => {
    const { level, screw, output } = runs(curved);
    expect(
      failure(() =>
        fitTable({ spec: spec(), table: { levl: level!, screw: screw!, output: output! } }),
      ),
    ).toMatchInlineSnapshot(
      `"unknown_column: fitTable: the table must have a column for the factor "level"; got levl, screw, output. Did you mean "levl"?"`,
    );
  });

  it('throws not_a_number with column and row', () => {
    const table = runs(curved);
    table['output']![3] = 'n/a';
    expect(failure(() => fitTable({ spec: spec(), table }))).toMatchInlineSnapshot(
      `"not_a_number: fitTable: column "output" must hold numbers; got "n/a" (row 4). Mend the entry, or leave it empty when the cell failed."`,
    );
  });

  it('throws ragged_columns', () => {
    const table = runs(curved);
    table['output']!.pop();
    expect(failure(() => fitTable({ spec: spec(), table }))).toMatchInlineSnapshot(
      `"ragged_columns: fitTable: every column must have one entry a run, 11; got 10 (column "output"). Fill the gaps with nothing, not by shifting."`,
    );
  });

  it('leaves its input alone', () => {
    const table = runs(curved);
    const copy = structuredClone(table);
    const frozen = Object.freeze(
      Object.fromEntries(
        Object.entries(table).map(([name, cells]) => [name, Object.freeze(cells)]),
      ),
    );
    fitTable({ spec: spec(), table: frozen });
    expect(table).toEqual(copy);
  });
});
