import { createRequire } from 'node:module';
import * as core from '@strandwise/core';
import { afterAll, bench, describe, expect } from 'vitest';

interface Family {
  cdf(x: number, ...parameters: number[]): number;
  inv(p: number, ...parameters: number[]): number;
}

/** The library's own versions, from where the core finds it. */
const jstat = createRequire(new URL('../../packages/core/package.json', import.meta.url))(
  'jstat',
) as Record<'normal' | 'studentt' | 'centralF' | 'noncentralt' | 'tukey', Family>;

// Each pair is checked to agree where both are good, then timed; read the ratio, not the seconds.
const dfs = Array.from({ length: 40 }, (_, i) => 3 + i);

/** The sum keeps the engine from dropping the work. */
let sink = 0;
const overDfs = (f: (df: number) => number): void => {
  for (const df of dfs) sink += f(df);
};

describe('t quantile, upper tail 0.025, df 3 to 42', () => {
  expect(core.tUpperQuantile(0.025, 9) / jstat.studentt.inv(0.975, 9)).toBeCloseTo(1, 7);
  bench('ours', () => overDfs((df) => core.tUpperQuantile(0.025, df)));
  bench('jstat studentt.inv', () => overDfs((df) => jstat.studentt.inv(0.975, df)));
});

describe('F tail, x = 3.2, 4 and 3 to 42 df', () => {
  expect(core.fUpper(3.2, 4, 9) / (1 - jstat.centralF.cdf(3.2, 4, 9))).toBeCloseTo(1, 6);
  bench('ours', () => overDfs((df) => core.fUpper(3.2, 4, df)));
  bench('jstat 1 − centralF.cdf', () => overDfs((df) => 1 - jstat.centralF.cdf(3.2, 4, df)));
});

describe('noncentral t tail, t = 2.2, delta = 2.5, df 3 to 42', () => {
  expect(core.noncentralTLower(2.2, 9, 2.5) / jstat.noncentralt.cdf(2.2, 9, 2.5)).toBeCloseTo(1, 6);
  bench('ours', () => overDfs((df) => core.noncentralTLower(2.2, df, 2.5)));
  bench('jstat noncentralt.cdf', () => overDfs((df) => jstat.noncentralt.cdf(2.2, df, 2.5)));
});

describe('studentized range tail, q = 3.8, 4 means, df 3 to 42', () => {
  bench('ours', () => overDfs((df) => core.studentizedRangeUpper(3.8, 4, df)), { iterations: 5 });
  bench('jstat 1 − tukey.cdf', () => overDfs((df) => 1 - jstat.tukey.cdf(3.8, 4, df)), {
    iterations: 5,
  });
});

describe('normal tail and quantile', () => {
  bench('normalUpper', () => overDfs((df) => core.normalUpper(df / 10)));
  bench('jstat 1 − normal.cdf', () => overDfs((df) => 1 - jstat.normal.cdf(df / 10, 0, 1)));
  bench('normalQuantile', () => overDfs((df) => core.normalQuantile(df / 50)));
  bench('jstat normal.inv', () => overDfs((df) => jstat.normal.inv(df / 50, 0, 1)));
});

afterAll(() => {
  expect(sink).not.toBeNaN();
});
