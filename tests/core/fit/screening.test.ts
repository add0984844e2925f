import {
  definitiveScreeningFit,
  fitTable,
  lenthCritical,
  Spec,
  seededUniform,
  standardNormal,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { expectedOf } from '../../reference/dataset.ts';

describe('lenthCritical', () => {
  // Ye & Hamada (2000) by their own simulation; from memory: 2.30 and 4.87 for 7 effects, 2.16 and 4.24
  // for 15. Both simulations carry an error near 1 %.
  it.each([
    [7, 2.3, 4.87],
    [15, 2.16, 4.24],
  ])('gives critical ratios of %i effects as published', (m, each, largest) => {
    const found = lenthCritical(m);
    expect(Math.abs(found.each / each - 1)).toBeLessThan(0.02);
    expect(Math.abs(found.largest / largest - 1)).toBeLessThan(0.03);
  });

  it('repeats itself', () => {
    expect(lenthCritical(7)).toEqual(lenthCritical(7));
  });
});

/** The plan from a conference matrix: its rows, their mirror images, centre runs. */
function plan(order: string, centres: number): number[][] {
  const rows = (expectedOf('conference-screening')[order].C_rows as string[]).map((row) =>
    [...row].map((sign) => (sign === '0' ? 0 : sign === '+' ? 1 : -1)),
  );
  const mirrored = rows.map((row) => row.map((value) => -value || 0));
  return [...rows, ...mirrored, ...Array.from({ length: centres }, () => rows[0]!.map(() => 0))];
}

const names = ['a', 'b', 'c', 'd', 'e', 'f'];

describe('definitiveScreeningFit', () => {
  // Five factors on a plan made for eight: three columns are left over for error.
  const runs = plan('8', 1).map((row) => row.slice(0, 5));
  const uniform = seededUniform(3);
  const noise = (count: number, sd: number): number[] =>
    Array.from({ length: count }, () => sd * standardNormal(uniform));

  it('finds planted effects, and seldom anything beside them', () => {
    let exact = 0;
    const studies = 200;
    for (let study = 0; study < studies; study++) {
      const scatter = noise(runs.length, 0.1);
      const y = runs.map(([a, b], i) => 10 + 2 * a! - 1.5 * b! + a! * b! + scatter[i]!);
      const found = definitiveScreeningFit(runs, Float64Array.from(y), names.slice(0, 5));
      if (found.kind !== 'read') throw new Error(found.kind);
      const active = found.mainEffects.filter(({ isActive }) => isActive).map(({ name }) => name);
      expect(active).toEqual(expect.arrayContaining(['a', 'b']));
      expect(found.secondOrder).toContainEqual({ a: 1, b: 1 });
      if (active.length === 2 && found.secondOrder.length === 1) exact++;
    }
    // Three idle factors at 5 % each, and a second stage that goes on in 20 % of cases.
    expect(exact / studies).toBeGreaterThan(0.6);
  });

  it('finds a planted square', () => {
    const scatter = noise(runs.length, 0.02);
    const y = runs.map((row, i) => 5 + 2 * row[2]! + 1.5 * row[2]! ** 2 + scatter[i]!);
    const found = definitiveScreeningFit(runs, Float64Array.from(y), names.slice(0, 5));
    if (found.kind !== 'read') throw new Error(found.kind);
    expect(found.secondOrder).toContainEqual({ c: 2 });
    expect(found.terms).toEqual(expect.arrayContaining([{}, { c: 1 }, { c: 2 }]));
  });

  it('estimates main effects free of second-order effects', () => {
    const wide = plan('8', 3).map((row) => row.slice(0, 6));
    const scatter = noise(wide.length, 0.05);
    const square = wide.map((row) => 7 * row[0]! ** 2 + 4 * row[1]! * row[2]!);
    const found = definitiveScreeningFit(
      wide,
      Float64Array.from(wide, (row, i) => square[i]! + 3 * row[3]! + scatter[i]!),
      names,
    );
    if (found.kind !== 'read') throw new Error(found.kind);
    const estimate = (name: string): number =>
      found.mainEffects.find((effect) => effect.name === name)!.estimate;
    expect(estimate('d')).toBeCloseTo(3, 1);
    expect(Math.abs(estimate('a'))).toBeLessThan(0.1);
  });

  it('finds idle factors idle about as often as it says', () => {
    const wide = plan('8', 3).map((row) => row.slice(0, 6));
    const source = seededUniform(5);
    let alarms = 0;
    for (let study = 0; study < 400; study++) {
      const found = definitiveScreeningFit(
        wide,
        Float64Array.from(wide, () => standardNormal(source)),
        names,
      );
      if (found.kind === 'read')
        alarms += found.mainEffects.filter(({ isActive }) => isActive).length;
    }
    // Four df of error: the threshold is 0.05; three standard errors of 2400 looks.
    expect(Math.abs(alarms / 2400 - 0.05)).toBeLessThan(0.0134);
  });

  it('names another plan and a missing error estimate', () => {
    const factorial = [-1, 1].flatMap((a) => [-1, 1].flatMap((b) => [-1, 1].map((c) => [a, b, c])));
    expect(definitiveScreeningFit(factorial, new Float64Array(8), ['a', 'b', 'c']).kind).toBe(
      'another-plan',
    );
    const full = plan('6', 1);
    const y = Float64Array.from(noise(full.length, 1));
    expect(definitiveScreeningFit(full, y, names).kind).toBe('no-error-estimate');
  });
});

describe('fitTable of a definitive screening plan', () => {
  it('says what its two stages lack when every column is used and the centre was run once', () => {
    const runs = plan('6', 1);
    const table = Object.fromEntries([
      ...names.map((name, j) => [name, runs.map((row) => row[j]!)]),
      ['y', runs.map((row, i) => 10 + row[0]! + 0.1 * Math.sin(7 * i))],
    ]);
    const spec = Spec.parse({
      factors: names.map((name) => ({ name, low: -1, high: 1 })),
      responses: [{ name: 'y', kind: 'continuous' }],
      model: 'main',
    });
    const fit = fitTable({ spec, table }).responses[0]!;
    expect(fit.screening).toBeNull();
    expect(fit.cannotSay.map(({ says }) => says).join(' ')).toContain(
      'need spare columns or repeated centre runs',
    );
  });
});
