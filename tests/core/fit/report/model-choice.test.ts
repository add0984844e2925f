import {
  type Cell,
  type DomainError,
  fitTable,
  modelChoice,
  Spec,
  seededUniform,
  withAlternatives,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataTable, expectClose, expectedOf } from '../../../reference/dataset.ts';

const scatter = (i: number): number => 0.3 * Math.sin(12.9898 * (i + 1) * (i + 3));

const grid = [-1, 0, 1].flatMap((a) =>
  [-1, 0, 1].flatMap((b) => [-1, 1].map((c) => ({ a, b, c }))),
);

const spec = (over: Record<string, unknown> = {}): Spec =>
  Spec.parse({
    factors: ['a', 'b', 'c'].map((name) => ({ name, low: -1, high: 1 })),
    responses: [{ name: 'y', kind: 'continuous' }],
    ...over,
  });

const table = (
  y: (p: { a: number; b: number; c: number }, i: number) => Cell,
): Record<string, Cell[]> => ({
  a: grid.map((p) => p.a),
  b: grid.map((p) => p.b),
  c: grid.map((p) => p.c),
  y: grid.map(y),
});

describe('modelChoice', () => {
  it('finds the terms that made invented runs, hierarchy kept', () => {
    const runs = table(({ a, b }, i) => 10 + 2 * a - 3 * a * a + a * b + scatter(i));
    const found = modelChoice({ spec: spec(), table: runs, response: 'y', criterion: 'bic' });
    if (found.kind !== 'chosen') throw new Error(found.says);
    for (const name of ['intercept', 'a', 'b', 'a × b', 'a²'])
      expect(found.best.names).toContain(name);
    // c² cannot be told from the intercept on two levels of c, and is said so.
    expect(found.cannotSay.map(({ kind }) => kind)).toEqual(['aliased']);
    expect(found.nearlyAsGood[0]).toEqual(found.best);
    expect(found.nearlyAsGood.every(({ behind }) => behind <= 2)).toBe(true);
    // The chosen terms go straight back into a fit.
    const again = fitTable({ spec: spec({ model: { terms: found.best.terms } }), table: runs });
    expect(again.responses[0]!.terms.map(({ name }) => name)).toEqual(found.best.names);
    expectClose(again.responses[0]!.bic!, found.best.criterion, 1e-9, 'BIC');
  });

  it('keeps blocks and says when it does not choose', () => {
    const runs: Record<string, Cell[]> = {
      ...table(({ a }, i) => 10 + 2 * a + scatter(i)),
      day: grid.map((_, i) => i % 2),
    };
    const found = modelChoice({ spec: spec({ block: 'day' }), table: runs, response: 'y' });
    expect(found.kind === 'chosen' && found.best.names).not.toContain('day [0]');
    const counted = spec({ responses: [{ name: 'y', kind: 'count' }] });
    const nothing = table(() => 0);
    expect(modelChoice({ spec: counted, table: nothing, response: 'y' }).kind).toBe('not-chosen');
    const formed = spec({ responses: [{ name: 'y', kind: 'pass-fail' }] });
    expect(
      modelChoice({ spec: formed, table: table(() => 1), response: 'y' }),
    ).toMatchInlineSnapshot(`
      {
        "kind": "not-chosen",
        "says": "All runs ended alike, so no model can be told from another.",
      }
    `);
    expect(modelChoice({ spec: spec(), table: table(() => null), response: 'y' }).kind).toBe(
      'not-chosen',
    );
    try {
      modelChoice({ spec: spec(), table: runs, response: 'z' });
      throw new Error('nothing thrown');
    } catch (error) {
      expect((error as DomainError).code).toBe('unknown_response');
    }
  });
});

describe('modelChoice of counts and of passing', () => {
  const uniform = seededUniform(4, 'counts');
  const counts = table(({ a, b }) => {
    const mean = Math.exp(2 + 0.8 * a - 0.6 * a * a + 0.5 * b);
    let [n, left] = [0, Math.exp(-mean)];
    for (let p = left, u = uniform(); u > left && n < 200; left += p) p *= mean / ++n;
    return n;
  });
  const passes = table(({ a, c }) => Number(uniform() < 1 / (1 + Math.exp(-1 - 3 * a + c))));

  it('finds the terms that made invented counts, and what near models agree on', () => {
    const counted = spec({ responses: [{ name: 'y', kind: 'count' }] });
    const found = modelChoice({ spec: counted, table: counts, response: 'y' });
    if (found.kind !== 'chosen') throw new Error(found.says);
    for (const name of ['a', 'a²', 'b']) expect(found.best.names).toContain(name);
    expect(found.search).toBe('all');
    expect(found.remarks.join(' ')).toContain('Poisson likelihood');
    const fit = withAlternatives(fitTable({ spec: counted, table: counts }), counted, counts)
      .responses[0]!;
    for (const name of ['a', 'a²', 'b']) expect(fit.alternatives!.inAll).toContain(name);
  });

  it('finds the factor that decides about passing', () => {
    const formed = spec({ responses: [{ name: 'y', kind: 'pass-fail' }] });
    const found = modelChoice({ spec: formed, table: passes, response: 'y', criterion: 'bic' });
    if (found.kind !== 'chosen') throw new Error(found.says);
    expect(found.best.names).toContain('a');
    expect(found.best.names.length).toBeLessThan(5);
  });

  it('searches by steps where plots make each look dear, and says so', () => {
    const runs: Record<string, Cell[]> = { ...counts, plot: grid.map((_, i) => i >> 1) };
    const nested = spec({ responses: [{ name: 'y', kind: 'count' }], wholePlot: 'plot' });
    const found = modelChoice({ spec: nested, table: runs, response: 'y' });
    if (found.kind !== 'chosen') throw new Error(found.says);
    expect(found.search).toBe('guided');
    expect(found.best.names).toContain('a');
  });
});

describe('fitTable, second looks', () => {
  it('reads a saturated factorial by Lenth (ceramics, NIST/SEMATECH e-Handbook 5.4.7.1)', () => {
    const data = dataTable('ceramics-factorial');
    const expected = expectedOf('ceramics-factorial');
    const names = ['speed', 'rate', 'grit', 'direction', 'batch'];
    const labels = Object.keys(expected.saturated_effects);
    const theSpec = Spec.parse({
      factors: names.map((name) => ({ name, low: -1, high: 1 })),
      responses: [{ name: 'strength', kind: 'continuous' }],
      model: {
        terms: labels.map((label) => Object.fromEntries(label.split(':').map((name) => [name, 1]))),
      },
    });
    const runs = Object.fromEntries(
      [...names, 'strength'].map((name) => [
        name,
        data.rows.map((row) => row[data.columns.indexOf(name)]!),
      ]),
    );
    const fit = fitTable({ spec: theSpec, table: runs }).responses[0]!;
    expect(fit.cannotSay.map(({ kind }) => kind)).toEqual(['saturated']);
    expectClose(fit.lenth!.pse, expected.lenth.pse, 1e-9, 'PSE');
    expectClose(fit.lenth!.me, expected.lenth.ME, 1e-8, 'ME');
    for (const { name, effect } of fit.lenth!.effects)
      expect(
        Math.abs(effect - expected.saturated_effects[name.replaceAll(' × ', ':')]),
      ).toBeLessThan(1e-9);
  });

  it('speaks up when the logarithm suits better, and not otherwise', () => {
    const grown = table(({ a, b }, i) => Math.exp(2 + a + 0.5 * b + 0.3 * scatter(i)));
    const fit = fitTable({ spec: spec({ model: 'main' }), table: grown }).responses[0]!;
    expect(fit.power!.lambda).toBeCloseTo(0, 0);
    expect(fit.remarks.join()).toContain('the logarithm would serve');
    const plain = table(({ a, b }, i) => 50 + 10 * a + 5 * b + 3 * scatter(i));
    expect(fitTable({ spec: spec({ model: 'main' }), table: plain }).responses[0]!.remarks).toEqual(
      [],
    );
  });
});
