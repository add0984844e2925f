import { describe, expect, it } from 'vitest';
import { dataJson, dataTable, expectClose, expectedOf, powersOf } from '../../reference/dataset.ts';
import { csvOf, fitFiles, fitted } from './run-fit.ts';

// Published cases through the command as a person calls it: a spec file, a delimited table, JSON out.
// The same data and results are tested at the kernels; here it is the contract that is tested.

type Rows = (string | number)[][];

const termOf = (fit: ReturnType<typeof fitted>, powers: object) =>
  fit.terms.find((term) => JSON.stringify(term.powers) === JSON.stringify(powers))!;

describe('fit --spec --runs on published data', () => {
  it('fits Longley’s table in its own units taken as coded (NIST StRD)', () => {
    const { columns, rows } = dataTable('nist-longley');
    const expected = expectedOf('nist-longley').certified_strings;
    const names = columns.slice(1);
    const spec = {
      factors: names.map((name) => ({ name, low: -1, high: 1, changes: 'easy' })),
      responses: [{ name: columns[0], kind: 'continuous' }],
      model: { terms: [{}, ...names.map((name) => ({ [name]: 1 }))] },
    };
    const fit = fitted(
      fitFiles(
        spec,
        csvOf(
          columns,
          rows.map((row) => [...row]),
        ),
        '--json',
        '--units',
        'coded',
      ),
    );
    for (const [j, term] of fit.terms.entries()) {
      expectClose(term.estimate, Number(expected.coef[j]), 1e-10, term.name);
      expectClose(term.standardError!, Number(expected.se[j]), 1e-10, `error of ${term.name}`);
    }
    expectClose(fit.residualSd!, Number(expected.rsd), 1e-10, 'residual SD');
    expectClose(fit.rSquared!, Number(expected.r2), 1e-10, 'R²');
  });

  it('fits the composite of the e-Handbook with lack of fit (5.4.7.3)', () => {
    const { columns, rows } = dataTable('cvd-composite');
    const expected = expectedOf('cvd-composite').uniformity['coded_columns_as_published_0.71'];
    const spec = {
      factors: ['x1', 'x2'].map((name) => ({ name, low: -1, high: 1 })),
      responses: [{ name: 'uniformity', kind: 'continuous' }],
      model: 'quadratic',
    };
    const fit = fitted(
      fitFiles(
        spec,
        csvOf(
          columns,
          rows.map((row) => [...row]),
        ),
        '--json',
        '--units',
        'coded',
      ),
    );
    for (const [label, { estimate, se }] of Object.entries<{ estimate: number; se: number }>(
      expected.coefficients,
    )) {
      const term = termOf(fit, powersOf(label));
      expectClose(term.estimate, estimate, 1e-9, label);
      expectClose(term.standardError!, se, 1e-9, `error of ${label}`);
    }
    expectClose(fit.adjustedRSquared!, expected.fit.r2_adj, 1e-9, 'adjusted R²');
    expectClose(fit.predictiveRSquared!, expected.fit.r2_pred, 1e-9, 'predictive R²');
    expect(fit.lackOfFit!.kind).toBe('tested');
    expect(fit.stationaryPoint!.eigenvalues.length).toBe(2);
  });

  it('fits Yates’ oats with blocks as the outer stratum and plots numbered anew in each (lme4, pbkrtest)', () => {
    const { rows } = dataJson('yates-oats-split-plot') as { rows: Rows };
    const expected = expectedOf('yates-oats-split-plot').reml_full;
    const varieties = ['Golden Rain', 'Marvellous', 'Victory'];
    const csv = csvOf(
      ['block', 'plot', 'variety', 'nitro', 'yield'],
      rows.map(([block, variety, nitro, y]) => [
        block!,
        varieties.indexOf(String(variety)) + 1,
        variety!,
        `n${nitro}`,
        y!,
      ]),
    );
    const spec = {
      factors: [
        { name: 'variety', levels: varieties, changes: 'hard' },
        { name: 'nitro', levels: ['n0', 'n0.2', 'n0.4', 'n0.6'], changes: 'easy' },
      ],
      responses: [{ name: 'yield', kind: 'continuous' }],
      model: 'interactions',
      wholePlot: 'plot',
      block: 'block',
    };
    const fit = fitted(fitFiles(spec, csv, '--json'));
    const { fixed, variance_components: variances } = expected;
    const names: Record<string, object> = {
      '(Intercept)': {},
      Variety1: { variety: 'Golden Rain' },
      Variety2: { variety: 'Marvellous' },
      nF1: { nitro: 'n0' },
      nF3: { nitro: 'n0.4' },
      'Variety2:nF3': { variety: 'Marvellous', nitro: 'n0.4' },
    };
    for (const [label, powers] of Object.entries(names)) {
      const term = termOf(fit, powers);
      expectClose(term.estimate, fixed[label].estimate, 1e-8, label);
      expectClose(term.standardError!, fixed[label].kr_se, 1e-5, `error of ${label}`);
      expectClose(term.df!, fixed[label].kr_df, 1e-3, `df of ${label}`);
      expectClose(term.p!, fixed[label].kr_p, 1e-4, `p of ${label}`);
    }
    expectClose(fit.varianceComponents[0]!.variance, variances.Block, 1e-5, 'block');
    expectClose(fit.varianceComponents[1]!.variance, variances['Block:Variety'], 1e-5, 'plot');
    expectClose(fit.varianceComponents[2]!.variance, variances.Residual, 1e-5, 'residual');
    const joint = fit.sourceTests.find(({ source }) => source === 'variety × nitro')!;
    expectClose(joint.statistic, expected.tests[0].F, 1e-5, 'F of the interaction');
  });

  it('fits an unbalanced split plot, also when its plots do not differ (lme4, pbkrtest)', () => {
    const { columns, rows } = dataJson('unbalanced-split-plot') as {
      columns: string[];
      rows: Rows;
    };
    const expected = expectedOf('unbalanced-split-plot');
    const labels = Object.keys(expected.reml.fixed);
    const spec = {
      factors: ['w1', 'w2', 's1', 's2'].map((name) => ({ name, low: -1, high: 1 })),
      responses: [{ name: 'y', kind: 'continuous' }],
      model: { terms: labels.map(powersOf) },
      wholePlot: 'wp',
    };
    const fit = fitted(fitFiles(spec, csvOf(columns, rows), '--json'));
    for (const label of labels) {
      const wanted = expected.reml.fixed[label];
      const term = termOf(fit, powersOf(label));
      expectClose(term.estimate, wanted.estimate, 1e-5, label);
      expectClose(term.standardError!, wanted.kr_se, 1e-5, `error of ${label}`);
      expectClose(term.df!, wanted.kr_df, 1e-3, `df of ${label}`);
    }
    const flat = expected.boundary_case;
    const csv = csvOf(
      columns,
      rows.map((row, i) => [...row.slice(0, -1), flat.y[i]]),
    );
    const still = fitted(
      fitFiles({ ...spec, model: { terms: [{}, { w1: 1 }, { s1: 1 }] } }, csv, '--json'),
    );
    expect(still.varianceComponents[0]).toMatchObject({ variance: 0, isAtBoundary: true });
    expectClose(still.varianceComponents[1]!.variance, flat.residual_variance, 1e-6, 'residual');
    expectClose(termOf(still, { w1: 1 }).estimate, flat.ols.w1.estimate, 1e-6, 'w1');
  });

  it('fits counts with exposure by each family asked for (McCullagh & Nelder 1989; R glm)', () => {
    const { columns, rows } = dataJson('ship-damage-counts') as { columns: string[]; rows: Rows };
    const expected = expectedOf('ship-damage-counts');
    const spec = (family?: string) => ({
      factors: [
        { name: 'type', levels: ['A', 'B', 'C', 'D', 'E'] },
        { name: 'year', levels: ['60', '65', '70', '75'] },
        { name: 'period', levels: ['60', '75'] },
      ],
      responses: [
        { name: 'incidents', kind: 'count', exposure: 'service', ...(family ? { family } : {}) },
      ],
      model: 'main',
    });
    const csv = csvOf(columns, rows);
    const quasi = fitted(fitFiles(spec(), csv, '--json'));
    expect(quasi.method).toBe('quasi-Poisson');
    expectClose(quasi.deviance!, expected.quasipoisson.deviance, 1e-9, 'deviance');
    expectClose(quasi.dispersion!, expected.quasipoisson.dispersion, 1e-8, 'dispersion');
    const plain = fitted(fitFiles(spec('poisson'), csv, '--json'));
    expect(plain.method).toBe('Poisson');
    // Levels sum to zero here and are compared with the first level there: B − A is e_B − e_A.
    const difference =
      termOf(plain, { type: 'B' }).estimate - termOf(plain, { type: 'A' }).estimate;
    expectClose(difference, expected.poisson.coefficients.typeB.estimate, 1e-8, 'type B');
    const period = -2 * termOf(plain, { period: '60' }).estimate;
    expectClose(period, expected.poisson.coefficients.period75.estimate, 1e-8, 'period');
    for (const source of ['type', 'year', 'period']) {
      const test = plain.sourceTests.find((found) => found.source === source)!;
      expectClose(test.likelihoodRatio!, expected.drop1_LR[source].LRT, 1e-7, `drop of ${source}`);
    }
  });

  it('fits counts in whole plots (lme4 glmer, Laplace)', () => {
    const { columns, rows } = dataJson('mixed-poisson-bubbles') as {
      columns: string[];
      rows: Rows;
    };
    const expected = expectedOf('mixed-poisson-bubbles');
    const labels = Object.keys(expected.coefficients);
    const spec = {
      factors: ['level', 'speed', 'fan'].map((name) => ({ name, low: -1, high: 1 })),
      responses: [{ name: 'bubbles', kind: 'count', exposure: 'metres' }],
      model: { terms: labels.map(powersOf) },
      wholePlot: 'whole_plot',
    };
    const fit = fitted(fitFiles(spec, csvOf(columns, rows), '--json'));
    for (const label of labels)
      expectClose(
        termOf(fit, powersOf(label)).estimate,
        expected.coefficients[label].estimate,
        1e-4,
        label,
      );
    expectClose(
      fit.varianceComponents[0]!.standardDeviation,
      expected.whole_plot_sd,
      1e-3,
      'plot SD',
    );
  });

  it('reads a saturated two-level plan by Lenth (filtration rate)', () => {
    const expected = expectedOf('lenth-examples').filtration;
    const { filtration } = dataJson('lenth-examples') as { filtration: number[] };
    const names = ['A', 'B', 'C', 'D'];
    const terms = Array.from({ length: 16 }, (_, mask) =>
      Object.fromEntries(names.filter((_, k) => (mask >> k) & 1).map((name) => [name, 1])),
    );
    const csv = csvOf(
      [...names, 'rate'],
      filtration.map((rate, i) => [...names.map((_, k) => ((i >> k) & 1 ? 1 : -1)), rate]),
    );
    const spec = {
      factors: names.map((name) => ({ name, low: -1, high: 1 })),
      responses: [{ name: 'rate', kind: 'continuous' }],
      model: { terms },
    };
    const { lenth } = fitted(fitFiles(spec, csv, '--json'));
    expectClose(lenth!.pse, expected.lenth.PSE, 1e-12, 'PSE');
    expectClose(lenth!.me, expected.lenth.ME, 1e-9, 'ME');
    expectClose(lenth!.sme, expected.lenth.SME, 1e-9, 'SME');
    const text = fitFiles(spec, csv);
    expect(text.code).toBe(0);
    expect(text.out).toMatch(/Surely beyond noise: A, A × C, D, A × D\./);
    expect(text.out).toMatch(/half-normal score/);
  });

  it('weighs runs by a column', () => {
    const rows = [
      [-1, 10.2, 1],
      [-1, 10.6, 4],
      [0, 11.1, 1],
      [1, 12.4, 2],
      [1, 12.0, 1],
    ];
    const spec = {
      factors: [{ name: 'x', low: -1, high: 1 }],
      responses: [{ name: 'y', kind: 'continuous', weight: 'w' }],
      model: 'main',
    };
    const fit = fitted(fitFiles(spec, csvOf(['x', 'y', 'w'], rows), '--json'));
    expect(fit.method).toBe('weighted least squares');
    // lm(y ~ x, weights = w) in R 4.2.2.
    expectClose(termOf(fit, {}).estimate, 11.358823529411765, 1e-9, 'intercept');
    expectClose(termOf(fit, { x: 1 }).estimate, 0.864705882352942, 1e-9, 'slope');
    expectClose(termOf(fit, { x: 1 }).standardError!, 0.117057345541956, 1e-9, 'error');
  });
});

describe('fit --ask', () => {
  const spec = {
    factors: [
      { name: 'level', low: 190, high: 210 },
      { name: 'fan', low: 20, high: 80 },
    ],
    responses: [{ name: 'y', kind: 'continuous' }],
    model: 'main',
  };
  const corners = [
    [190, 20, 1],
    [210, 20, 3.5],
    [190, 80, 2],
    [210, 80, 4],
    [200, 50, 2.5],
  ];
  const table = csvOf(['level', 'fan', 'y'], corners);

  it('answers a difference between two settings with error, df and p', () => {
    const fit = fitted(
      fitFiles(spec, table, '--json', '--ask', 'level=210, fan=80 less level=190, fan=20'),
    );
    // By hand: slopes 1.125 and 0.375 on ±1, both twice; error 2·√(2·s²/4) with s² on 2 df.
    const [own] = fit.contrasts;
    expectClose(own!.estimate, 3, 1e-12, 'difference');
    expect(own!.df).toBe(2);
    expectClose(own!.standardError!, 2 * Math.sqrt((2 * fit.residualSd! ** 2) / 4), 1e-12, 'error');
  });

  it('shows it, and squares in order and after all others, as text', () => {
    const { out } = fitFiles(spec, table, '--ask', 'level=210 less level=190');
    expect(out).toMatch(/level=210 less level=190: 2\.25/);
    expect(out).toMatch(/squares +df +in order +after all/);
    expect(out).toMatch(/level +1 +5\.06 +5\.06/);
  });

  it('says how to ask', () => {
    const ran = fitFiles(spec, table, '--ask', 'level=210');
    expect(ran.code).not.toBe(0);
    expect(ran.told).toContain('"level=210 less level=190"');
  });
});
