import { type Check, fitTable, Spec, seededUniform, standardNormal } from '@strandwise/core';
import { describe, expect, it } from 'vitest';

// Invented: three factors, a quadratic in two of them, 30 runs in random order with known scatter.
const names = ['level', 'screw', 'fan'];
const uniform = seededUniform(8);
const settings = Array.from({ length: 30 }, (_, i) =>
  names.map(() => (i < 4 ? 0 : Math.round(2 * uniform()) - 1)),
);
const scatter = settings.map(() => 0.1 * standardNormal(uniform));
const order = settings.map((_, i) => ((i * 7) % 30) + 1);
const truth = ([a, b]: readonly number[]): number => 5 + a! - 0.5 * b! + 0.8 * a! * a!;

interface Wish {
  readonly y?: (row: readonly number[], i: number) => number;
  readonly over?: object;
  readonly columns?: Readonly<Record<string, readonly (number | string)[]>>;
  readonly kind?: 'continuous' | 'spread';
  readonly floor?: number;
}

function checksOf({
  y = truth,
  over = {},
  columns = {},
  kind = 'continuous',
  floor,
}: Wish = {}): Check[] {
  const spec = Spec.parse({
    factors: names.map((name) => ({ name, low: -1, high: 1 })),
    responses: [{ name: 'y', kind }],
    runOrder: 'order',
    ...over,
  });
  const table = {
    ...Object.fromEntries(names.map((name, f) => [name, settings.map((row) => row[f]!)])),
    order,
    y: settings.map((row, i) => y(row, i) + scatter[i]!),
    ...columns,
  };
  const known = floor === undefined ? {} : { known: { floors: { y: floor } } };
  return fitTable({ spec, table, ...known }).responses[0]!.checks;
}

const of = (checks: readonly Check[], kind: Check['kind']): Check =>
  checks.find((check) => check.kind === kind)!;

describe('fitChecks', () => {
  it('finds nothing in a sound fit, and says each thing in one sentence', () => {
    const checks = checksOf();
    expect(checks.filter(({ standing }) => standing === 'concern')).toEqual([]);
    for (const { says } of checks) expect(says).toMatch(/\.$/);
    expect(checks.map(({ kind }) => kind)).toEqual([
      'lack of fit',
      'outliers',
      'influence',
      'leverage',
      'normality',
      'constant variance',
      'drift over run order',
    ]);
  });

  it('names a run that stands apart', () => {
    const check = of(checksOf({ y: (row, i) => truth(row) + (i === 12 ? 1.2 : 0) }), 'outliers');
    expect(check).toMatchObject({ standing: 'concern', rows: [13] });
    expect(check.says).toMatch(/^row 13 lies .* SD above where the other runs put it/);
  });

  it('sees a drift over run order, and its size from first to last', () => {
    const drifting = checksOf({ y: (row, i) => truth(row) + (0.9 * order[i]!) / 30 });
    const check = of(drifting, 'drift over run order');
    expect(check.standing).toBe('concern');
    const size = Number(/up by ([\d.]+)/.exec(check.says)![1]);
    expect(Math.abs(size - 0.9)).toBeLessThan(0.25);
  });

  it('raises no alarm over rows whose order nobody stated', () => {
    const sorted = { runOrder: undefined };
    const y = (row: readonly number[], i: number): number => truth(row) + 0.05 * i;
    const check = of(
      checksOf({ y, over: sorted, columns: { order: order.map(() => 'x') } }),
      'drift over run order',
    );
    expect(check.standing).toBe('unknown');
    expect(check.says).toMatch(/order of the rows, if they stand as they were run/);
  });

  it('reads a clock in hours or in dates alike', () => {
    const hours = order.map((place) => 0.25 * place);
    const dates = hours.map((hour) =>
      new Date(Date.UTC(2026, 0, 5) + 3_600_000 * hour).toISOString(),
    );
    const [one, other] = [hours, dates].map((clock) =>
      of(checksOf({ over: { clock: 'clock' }, columns: { clock } }), 'drift over the clock'),
    );
    expect(other!.says).toBe(one!.says);
    expect(other!.picture!.points.at(-1)!.x).toBeCloseTo(one!.picture!.points.at(-1)!.x, 6);
  });

  it('says that the model bends otherwise than the runs do', () => {
    const check = of(checksOf({ over: { model: 'main' } }), 'lack of fit');
    expect(check.standing).toBe('concern');
    expect(check.says).toMatch(/bends otherwise than the runs do \(p below 0.001/);
  });

  it('sees scatter that grows with the response', () => {
    const y = (row: readonly number[], i: number): number =>
      truth(row) + scatter[i]! * (Math.exp(1.5 * (truth(row) - 5)) - 1);
    const model = { terms: [{}, { level: 1 }, { screw: 1 }, { level: 2 }] };
    const check = of(checksOf({ y, over: { model } }), 'constant variance');
    expect(check.p).toBeLessThan(0.05);
    expect(check.says).toMatch(/grows with y/);
  });

  it('names runs that decide their own fitted value', () => {
    const lone = settings.map((row, i) => (i === 20 ? 1 : row[2] === 1 ? 0 : row[2]!));
    const model = { terms: [{}, { fan: 1 }, { fan: 2 }, { fan: 3 }, { level: 1 }] };
    const columns = { fan: lone.map((value, i) => (i === 20 ? 3 : value)) };
    const check = of(checksOf({ over: { model }, columns }), 'leverage');
    expect(check).toMatchObject({ standing: 'concern', rows: [21] });
    expect(check.says).toMatch(/^row 21 decides nearly all of its own fitted value/);
  });

  it('draws the gauge floor, and claims nothing below it', () => {
    const spread = {
      kind: 'spread' as const,
      y: (row: readonly number[]) => 0.02 * truth(row),
      columns: {},
    };
    const values = settings.map((row, i) => 0.01 * truth(row) * Math.exp(scatter[i]!));
    const sound = of(checksOf({ ...spread, columns: { y: values }, floor: 0.004 }), 'gauge floor');
    expect(sound.standing).toBe('sound');
    expect(sound.picture!.guides[0]!.at).toBeCloseTo(Math.log(0.004), 12);
    const low = of(checksOf({ ...spread, columns: { y: values }, floor: 0.05 }), 'gauge floor');
    expect(low.standing).toBe('concern');
    expect(low.says).toMatch(/are what the gauge alone would show/);
  });

  it('names a whole plot that stands apart', () => {
    const plot = settings.map((_, i) => `zone setting ${Math.floor(i / 3) + 1}`);
    const y = (row: readonly number[], i: number): number =>
      truth(row) + (Math.floor(i / 3) === 6 ? 2.5 : 0);
    const check = of(
      checksOf({ y, over: { wholePlot: 'plot' }, columns: { plot } }),
      'outlying plots',
    );
    expect(check.standing).toBe('concern');
    expect(check.says).toMatch(/plot zone setting 7 as a whole lies .* SD above/);
  });

  it('calls runs as the caller does', () => {
    const spec = Spec.parse({
      factors: names.map((name) => ({ name, low: -1, high: 1 })),
      responses: [{ name: 'y', kind: 'continuous' }],
      model: 'main',
    });
    const table = {
      ...Object.fromEntries(names.map((name, f) => [name, settings.map((row) => row[f]!)])),
      y: settings.map((row, i) => (i === 2 ? null : truth(row) + scatter[i]!)),
    };
    const runNames = settings.map((_, i) => `cell ${i + 101}`);
    const fit = fitTable({ spec, table, known: { runNames } }).responses[0]!;
    expect(fit.cannotSay[0]!.says).toMatch(/1 of 30 cells gave no y \(cell 103\)/);
    expect(of(fit.checks, 'outliers').says).toMatch(/cell 1\d\d/);
  });
});
