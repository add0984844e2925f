import {
  anova,
  determination,
  type Fitted,
  informationCriterion,
  lackOfFit,
  leastSquares,
  replicateGroups,
  runDiagnostics,
  termTests,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import {
  column,
  dataJson,
  dataTable,
  expectClose,
  expectedOf,
  matrixFor,
  type NumberTable,
} from './dataset.ts';

// Computed by R's lm from the published data; the source of each is in its SOURCE.md.
// 1e-9 relative: the stated tolerance of the tables, printed to 15 digits.
const TOLERANCE = 1e-9;

interface Expected {
  fit: Record<string, number>;
  coefficients: Record<string, { estimate: number; se: number; t: number; p: number }>;
  anova?: Record<string, { df: number; ss: number; F: number | null; p: number | null }>;
  anova_sequential?: Expected['anova'];
  lack_of_fit?: {
    ss_lof: number;
    df_lof: number;
    ss_pe: number;
    df_pe: number;
    F: number;
    p: number;
  };
  diagnostics?: Record<string, number[]>;
}

function fitted(
  table: NumberTable,
  response: string,
  labels: readonly string[],
  power?: (y: number) => number,
): Fitted {
  const y = column(table, response);
  const fit = leastSquares({ x: matrixFor(table, labels), y: power ? y.map(power) : y });
  if (fit.kind !== 'fitted') throw new Error(fit.kind);
  return fit;
}

function check(
  fit: Fitted,
  wanted: Expected,
  y: Float64Array,
  table: NumberTable,
  settings: string[],
): void {
  const labels = Object.keys(wanted.coefficients);
  for (const [j, test] of termTests(fit).entries()) {
    const { estimate, se, t, p } = wanted.coefficients[labels[j]!]!;
    // An estimate that is zero but for rounding is judged on the scale of its standard error.
    expect(Math.abs(test.estimate - estimate), labels[j]).toBeLessThanOrEqual(
      TOLERANCE * Math.max(Math.abs(estimate), se),
    );
    expectClose(test.standardError!, se, TOLERANCE, `${labels[j]} standard error`);
    if (Math.abs(t) > 1e-6) {
      expectClose(test.statistic!, t, TOLERANCE, `${labels[j]} t`);
      // p of a far tail magnifies the error of t.
      expectClose(test.p!, p, 1e-7, `${labels[j]} p`);
    }
  }
  const { fit: whole } = wanted;
  const groups = labels.flatMap((source, column) =>
    source === '(Intercept)' ? [] : [{ source, columns: [column] }],
  );
  const table_ = anova(fit, groups);
  const shares = determination(fit);
  const pairs: [string, number, number][] = [
    ['residual SD', fit.residualSd, whole['sigma']!],
    ['rss', fit.rss, whole['rss']!],
    ['R²', shares.rSquared!, whole['r2']!],
    ['adjusted R²', shares.adjustedRSquared!, whole['r2_adj']!],
    ['PRESS', shares.press!, whole['press']!],
    ['predictive R²', shares.predictiveRSquared!, whole['r2_pred']!],
    ['F', table_.model.f!, whole['F']!],
    ['p of F', table_.model.p!, whole['F_p']!],
    ['BIC', informationCriterion('bic', fit.rss, 1, y.length, labels.length), whole['bic_R']!],
  ];
  for (const [what, got, value] of pairs) expectClose(got, value, 1e-8, what);
  expect(fit.dfResidual).toBe(whole['df_resid']);
  checkAnova(table_.sequential, wanted.anova ?? wanted.anova_sequential);
  if (wanted.lack_of_fit) {
    const points = table.rows.map((row) =>
      Object.fromEntries(settings.map((name) => [name, row[table.columns.indexOf(name)]!])),
    );
    const found = lackOfFit(fit, y, replicateGroups(points));
    if (found.kind !== 'tested') throw new Error(found.kind);
    const lof = wanted.lack_of_fit;
    expectClose(found.f, lof.F, 1e-8, 'lack of fit F');
    expectClose(found.pValue, lof.p, 1e-8, 'lack of fit p');
    expectClose(found.ss, lof.ss_lof, 1e-8, 'lack of fit SS');
    expectClose(found.pureErrorSs, lof.ss_pe, 1e-8, 'pure error SS');
    expect([found.df, found.pureErrorDf]).toEqual([lof.df_lof, lof.df_pe]);
  }
  if (wanted.diagnostics) checkDiagnostics(fit, wanted.diagnostics);
}

function checkAnova(rows: ReturnType<typeof anova>['sequential'], wanted: Expected['anova']): void {
  for (const row of rows) {
    const line = wanted?.[row.source];
    if (!line) continue;
    expectClose(row.ss, line.ss, 1e-8, `${row.source} sequential SS`);
    expectClose(row.f!, line.F!, 1e-8, `${row.source} F`);
    expectClose(row.p!, line.p!, 1e-7, `${row.source} p`);
  }
}

function checkDiagnostics(fit: Fitted, wanted: Record<string, number[]>): void {
  const names = {
    fitted: 'fitted',
    residual: 'resid',
    leverage: 'hat',
    studentised: 'rstandard',
    deletedStudentised: 'rstudent',
    cooksDistance: 'cooks',
  } as const;
  for (const [i, row] of runDiagnostics(fit).entries()) {
    for (const [ours, theirs] of Object.entries(names)) {
      const got = row[ours as keyof typeof row]!;
      const value = wanted[theirs]![i]!;
      expect(Math.abs(got - value), `${ours} of run ${i + 1}`).toBeLessThanOrEqual(
        1e-8 * Math.max(Math.abs(value), theirs === 'resid' ? fit.residualSd : 1e-3),
      );
    }
  }
}

describe('ceramics factorial (NIST/SEMATECH e-Handbook 5.4.7.1)', () => {
  const table = dataTable('ceramics-factorial');
  const expected = expectedOf('ceramics-factorial');
  const y = column(table, 'strength');

  it.each(['model_26_terms', 'model_12_terms'])('matches %s', (name) => {
    const labels = Object.keys(expected[name].coefficients);
    check(fitted(table, 'strength', labels), expected[name], y, table, []);
  });

  it('matches the printed R² and root mean square', () => {
    const { published, model_26_terms } = expected;
    const fit = fitted(table, 'strength', Object.keys(model_26_terms.coefficients));
    expect(determination(fit).rSquared!.toFixed(7)).toBe(String(published.model_26_terms.RSquare));
    expect(determination(fit).adjustedRSquared!.toFixed(7)).toBe(
      String(published.model_26_terms.RSquareAdj),
    );
    expect(fit.residualSd.toFixed(5)).toBe(String(published.model_26_terms.RMSE));
  });

  it('matches the transformed model', () => {
    const wanted = expected.transformed_11_terms;
    const mean = Math.exp(y.reduce((sum, value) => sum + Math.log(value), 0) / y.length);
    const power = (value: number) => (value ** 0.2 - 1) / (0.2 * mean ** -0.8);
    const fit = fitted(table, 'strength', Object.keys(wanted.coefficients), power);
    check(fit, wanted, y.map(power), table, []);
  });
});

describe('CVD composite (NIST/SEMATECH e-Handbook 5.4.7.3)', () => {
  const table = dataTable('cvd-composite');
  const expected = expectedOf('cvd-composite');

  it.each(['uniformity', 'stress'])('matches %s on the published coding', (response) => {
    const wanted =
      expected[response].coded_columns_as_published_0_71 ??
      expected[response]['coded_columns_as_published_0.71'];
    const fit = fitted(table, response, Object.keys(wanted.coefficients));
    check(fit, wanted, column(table, response), table, ['x1', 'x2']);
  });

  it('matches the reduced model of uniformity', () => {
    const wanted = expected.uniformity_interaction_model;
    const fit = fitted(table, 'uniformity', Object.keys(wanted.coefficients));
    check(fit, wanted, column(table, 'uniformity'), table, ['x1', 'x2']);
  });
});

describe('chemical process (Montgomery, Tables 11.4 and 11.6)', () => {
  const table = dataTable('chemical-process');
  const expected = expectedOf('chemical-process');

  it.each(['yield', 'viscosity', 'mw'])('matches %s', (response) => {
    const wanted = expected[response];
    const fit = fitted(table, response, Object.keys(wanted.coefficients));
    check(fit, wanted, column(table, response), table, ['x1', 'x2']);
  });

  it('matches the printed coefficients of yield to half a unit of their last digit', () => {
    const published = expected.published.yield;
    const fit = fitted(table, 'yield', Object.keys(expected.yield.coefficients));
    for (const [j, label] of Object.keys(expected.yield.coefficients).entries()) {
      const printed =
        published[label.replace('I(', '').replace(')', '').replace(':', '')] ?? published[label];
      expect(Math.abs(fit.coefficients[j]! - printed), label).toBeLessThanOrEqual(0.0051);
    }
  });
});

describe('tyre tread compound (Derringer & Suich 1980, handbook copy)', () => {
  const table: NumberTable = dataJson('derringer-suich').nist_copy;
  const expected = expectedOf('derringer-suich');

  it.each(['y1', 'y2', 'y3', 'y4'])('matches %s', (response) => {
    const wanted = expected.nist_fits[response];
    const fit = fitted(table, response, Object.keys(wanted.coefficients));
    check(fit, wanted, column(table, response), table, ['x1', 'x2', 'x3']);
  });
});
