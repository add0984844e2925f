import { fitTable, type ResponseFit, type RunTable, Spec } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataJson, expectClose, expectedOf } from '../../../reference/dataset.ts';

const only = (spec: object, table: RunTable): ResponseFit =>
  fitTable({ spec: Spec.parse(spec), table }).responses[0]!;

const term = (fit: ResponseFit, name: string) => fit.terms.find((found) => found.name === name)!;

describe('blocks', () => {
  const { rows } = dataJson('yates-oats-split-plot') as { rows: (string | number)[][] };
  const expected = expectedOf('yates-oats-split-plot').reml_linear_N_plus_variety;
  const column = (at: number) => rows.map((row) => row[at]!);
  const table = { block: column(0), variety: column(1), N: column(2), yield: column(3) };
  const spec = {
    factors: [
      { name: 'variety', levels: ['Golden Rain', 'Marvellous', 'Victory'], changes: 'hard' },
      { name: 'N', low: 0, high: 0.6 },
    ],
    responses: [{ name: 'yield', kind: 'continuous' }],
    model: 'main',
    wholePlot: 'variety',
    block: 'block',
  };

  it('are drawn when three or more hold whole plots whose labels begin anew (Yates 1935, lme4)', () => {
    const fit = only(spec, table);
    const { varianceComponents: wanted, ...rest } = {
      varianceComponents: expected.variance_components,
      ...expected,
    };
    expect(Object.keys(rest).length).toBeGreaterThan(0);
    expect(fit.varianceComponents.map(({ name }) => name)).toEqual([
      'block',
      'variety',
      'within variety',
    ]);
    expectClose(fit.varianceComponents[0]!.variance, wanted.Block, 1e-5, 'block variance');
    expectClose(
      fit.varianceComponents[1]!.variance,
      wanted['Block:Variety'],
      1e-5,
      'plot variance',
    );
    expectClose(fit.varianceComponents[2]!.variance, wanted.Residual, 1e-5, 'residual variance');
    // N is coded here: half the range per unit.
    expectClose(term(fit, 'N').estimate, 0.3 * expected.fixed.N.estimate, 1e-8, 'N');
    expectClose(term(fit, 'N').standardError!, 0.3 * expected.fixed.N.kr_se, 1e-5, 'error of N');
    expectClose(term(fit, 'variety [Marvellous]').df!, expected.fixed.Variety2.kr_df, 1e-3, 'df');
  });

  it('stay shifts of their own when asked', () => {
    const fit = only({ ...spec, blocks: 'fixed' }, table);
    expect(fit.terms.filter(({ powers }) => Object.hasOwn(powers, 'block')).length).toBe(5);
    // The design is balanced, so what varies within blocks is judged the same.
    const drawn = only(spec, table);
    expectClose(term(fit, 'N').standardError!, term(drawn, 'N').standardError!, 1e-6, 'error of N');
  });

  it('are shifts without plots, and drawn only when asked', () => {
    const { wholePlot: _, ...plain } = spec;
    expect(only(plain, table).method).toBe('least squares');
    const drawn = only({ ...plain, blocks: 'random' }, table);
    expect(drawn.varianceComponents.map(({ name }) => name)).toEqual(['block', 'within block']);
  });

  it('are refused as drawn beside two strata of plots', () => {
    const parsed = Spec.safeParse({ ...spec, subWholePlot: 'N', blocks: 'random' });
    expect(parsed.error?.issues[0]?.message).toMatch(/one stratum of plots/);
  });
});

describe('covariates', () => {
  // Invented; lm(y ~ h + level) in R 4.2.2 with h from −1 to +1 over the hours.
  const table = {
    level: [190, 210, 190, 210, 200, 200, 190, 210],
    hours: [0.5, 1.2, 2.1, 2.9, 3.8, 4.5, 5.6, 6.4],
    y: [10.1, 12.2, 10.6, 12.9, 11.7, 11.9, 11.2, 13.5],
  };
  const spec = {
    factors: [{ name: 'level', low: 190, high: 210 }],
    responses: [{ name: 'y', kind: 'continuous' }],
    model: 'main',
    covariates: ['hours'],
  };

  it('enter linearly, coded over their own range', () => {
    const fit = only(spec, table);
    expect(fit.terms.map(({ name }) => name)).toEqual(['intercept', 'hours', 'level']);
    expectClose(term(fit, 'hours').estimate, 0.633130505986, 1e-10, 'hours');
    expectClose(term(fit, 'hours').standardError!, 0.0832928451345, 1e-10, 'error of hours');
    expectClose(term(fit, 'level').p!, 1.59596015027e-5, 1e-8, 'p of level');
  });

  it('say so when they never changed', () => {
    const fit = only(spec, { ...table, hours: table.hours.map(() => 2) });
    expect(fit.cannotSay.map(({ says }) => says)).toContain(
      'hours was 2 in every run used, so nothing can be said of it.',
    );
  });

  it('leave out a run where they were not noted', () => {
    const fit = only(spec, { ...table, hours: [null, ...table.hours.slice(1)] });
    expect(fit.cells.leftOut).toEqual([{ row: 1, why: 'no hours noted' }]);
  });
});

describe('contrasts', () => {
  // Box (1996); coating C4 less C1 in lmer(y ~ xt + coating + (1 | run)), pbkrtest 0.5.2 in R 4.2.2.
  const { rows } = dataJson('box-corrosion-split-plot') as { rows: (string | number)[][] };
  const column = (at: number) => rows.map((row) => row[at]!);
  const table = { run: column(0), temp: column(1), coating: column(2), y: column(3) };
  const spec = {
    factors: [
      { name: 'temp', low: 360, high: 380, changes: 'hard' },
      { name: 'coating', levels: ['C1', 'C2', 'C3', 'C4'] },
    ],
    responses: [{ name: 'y', kind: 'continuous' }],
    model: 'main',
    wholePlot: 'run',
  };

  it('compare two settings with Kenward–Roger df', () => {
    const asked = { name: 'new against old', at: { coating: 'C4' }, less: { coating: 'C1' } };
    const [found] = only({ ...spec, contrasts: [asked] }, table).contrasts;
    expectClose(found!.estimate, 29.33333333333, 1e-9, 'estimate');
    expectClose(found!.standardError!, 9.87772465287, 1e-6, 'standard error');
    expectClose(found!.df!, 15, 1e-6, 'df');
  });

  it('weigh terms as asked: one term alone is that term', () => {
    const asked = { name: 'slope', weights: [{ term: { temp: 1 }, weight: 1 }] };
    const fit = only({ ...spec, contrasts: [asked] }, table);
    const { name: _, ...own } = fit.contrasts[0]!;
    for (const [key, value] of Object.entries(own))
      expectClose(value!, term(fit, 'temp')[key as 'estimate']!, 1e-9, key);
  });

  it('name a term that the fit does not have', () => {
    const asked = { name: 'bend', weights: [{ term: { temp: 2 }, weight: 1 }] };
    const fit = only({ ...spec, contrasts: [asked] }, table);
    expect(fit.cannotSay.at(-1)?.says).toMatch(/"bend" needs temp², which the fit does not have/);
  });

  it('throw unknown_factor with the nearest name', () => {
    const asked = { name: 'typo', at: { tmp: 360 }, less: {} };
    expect(() => only({ ...spec, contrasts: [asked] }, table)).toThrow(/Did you mean "temp"/);
  });
});

describe('sensitivity', () => {
  const { rows } = dataJson('box-corrosion-split-plot') as { rows: (string | number)[][] };
  const column = (at: number) => rows.map((row) => row[at]!);
  const table = { run: column(0), temp: column(1), coating: column(2), y: column(3) };
  const spec = {
    factors: [
      { name: 'temp', low: 360, high: 380, changes: 'hard' },
      { name: 'coating', levels: ['C1', 'C2', 'C3', 'C4'] },
    ],
    responses: [{ name: 'y', kind: 'continuous' }],
    model: 'main',
    wholePlot: 'run',
  };

  it('judges by the exact Bayesian fit when plots leave few df, and says why', () => {
    const { sensitivity, terms } = only(spec, table);
    expect(sensitivity!.judgedBy).toBe('Bayesian');
    expect(sensitivity!.why).toBe(
      'temp rests on 4 df among runs, which is few for an estimate of their variance',
    );
    expect(sensitivity!.prior).toMatch(/half-Cauchy with median 1/);
    // The terms of record stay those of restricted likelihood.
    const reml = sensitivity!.rows[0]!;
    expect(reml.estimator).toBe('restricted likelihood');
    expect(reml.terms.map(({ standardError }) => standardError)).toEqual(
      terms.map(({ standardError }) => standardError),
    );
  });

  it('takes pure error from the treatment model (variances of the full factorial, lme4)', () => {
    const pure = only(spec, table).sensitivity!.rows.find(
      ({ estimator }) => estimator === 'pure error',
    )!;
    expectClose(pure.components[0]!.standardDeviation, 34.2369193495151, 1e-5, 'run SD');
    expectClose(pure.components[1]!.standardDeviation, 11.1598238048331, 1e-5, 'residual SD');
  });

  it('judges by it when the variance between plots comes out as zero', () => {
    const flat = { ...table, y: rows.map((_, i) => 100 + ((i * 7) % 5) - ((i * 3) % 4)) };
    const { sensitivity } = only(spec, flat);
    expect(sensitivity!.why).toMatch(/at zero|few for an estimate/);
    expect(sensitivity!.judgedBy).toBe('Bayesian');
  });

  it('still answers where restricted likelihood must refuse', () => {
    const two = rows.flatMap((row, i) => (row[0] === rows[0]![0] || row[1] === 380 ? [i] : []));
    const pick = (cells: (string | number)[]) => two.map((i) => cells[i]!);
    const one = pick(column(0)).map((run) => (run === rows[0]![0] ? 'x' : 'y'));
    const fit = only(spec, {
      run: one,
      temp: pick(column(1)),
      coating: pick(column(2)),
      y: pick(column(3)),
    });
    expect(fit.terms.every(({ standardError }) => standardError === null)).toBe(true);
    const { judgedBy, rows: told } = fit.sensitivity!;
    expect(judgedBy).toBe('Bayesian');
    expect(told.at(-1)!.terms.length).toBeGreaterThan(0);
    expect(told[0]!.says).toMatch(/leave no df/);
  });

  it('carries a prior and says where from', () => {
    const ratios = [{ kind: 'log-normal' as const, median: 2, logSd: 0.3 }];
    const carried = { ratios, strata: ['run'], from: 'an earlier study' };
    const fit = fitTable({
      spec: Spec.parse(spec),
      table,
      known: { priors: { y: carried } },
    }).responses[0]!;
    expect(fit.sensitivity!.prior).toMatch(/carried over.*Carried from an earlier study/);
    expect(fit.sensitivity!.priorSays).toMatch(/^Under the weak prior instead of the carried one/);
    const [own, weak] = fit.sensitivity!.rows.slice(-2);
    expect(weak!.estimator).toBe('Bayesian, weak prior');
    expect(weak!.components[0]!.standardDeviation).not.toBe(own!.components[0]!.standardDeviation);
  });

  it('carries by the name of the plots: strata the earlier study had none of keep the weak prior', () => {
    const ratios = [{ kind: 'log-normal' as const, median: 2, logSd: 0.3 }];
    const priors = (strata: string[]) => ({ y: { ratios, strata, from: 'an earlier study' } });
    const other = fitTable({
      spec: Spec.parse(spec),
      table,
      known: { priors: priors(['batch']) },
    }).responses[0]!;
    expect(other.sensitivity!.prior).not.toContain('Carried');
    expect(other.sensitivity!.priorSays).toMatch(/^Had plots been held to differ three times/);
    const two = fitTable({
      spec: Spec.parse({ ...spec, wholePlot: 'day', subWholePlot: 'run' }),
      table: { ...table, day: rows.map((_, i) => Math.floor(i / 8)) },
      known: { priors: priors(['run']) },
    }).responses[0]!;
    expect(two.sensitivity!.prior).toMatch(/day.*half-Cauchy.*run.*median 2/);
  });

  it('says which plots the models of counts and of passing leave out', () => {
    const says = (kind: string, more: object, extra: object = {}) =>
      fitTable({
        spec: Spec.parse({ ...spec, responses: [{ name: 'y', kind }], ...more }),
        table: { ...table, ...extra },
      }).responses[0]!.cannotSay.filter((said) => said.kind === 'not-modelled');
    const half = { y: rows.map((_, i) => Number(i % 3 > 0)) };
    expect(says('pass-fail', {}, half)[0]!.says).toContain(
      'Runs of one run are taken as if they had',
    );
    expect(says('count', {}, half)).toEqual([]);
    const day = { day: rows.map((_, i) => Math.floor(i / 8)) };
    const strata = { wholePlot: 'day', subWholePlot: 'run' };
    expect(says('count', strata, { ...half, ...day })[0]!.says).toContain('Runs of one run are');
    const drawn = { wholePlot: undefined, block: 'day', blocks: 'random' };
    expect(says('count', drawn, { ...half, ...day })[0]!.says).toContain('not as drawn');
    expect(says('continuous', strata, day)).toEqual([]);
  });
});
