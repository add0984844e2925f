import {
  Factor,
  informationCriterion,
  isHierarchical,
  leastSquares,
  modelMatrix,
  modelTerms,
  type Powers,
  seededUniform,
  selectModel,
  termName,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { column, dataTable, expectedOf, matrixFor, powersOf } from '../../reference/dataset.ts';

const factors = (names: string): Factor[] =>
  [...names].map((name) => Factor.parse({ name, low: -1, high: 1 }));

function invented(
  names: string,
  n: number,
  seed: number,
  mean: (p: Record<string, number>) => number,
) {
  const list = factors(names);
  const uniform = seededUniform(seed);
  const points = Array.from({ length: n }, () =>
    Object.fromEntries([...names].map((name) => [name, Math.round(2 * uniform()) - 1])),
  );
  const terms = modelTerms('quadratic', list);
  const x = modelMatrix(terms, points, list);
  const y = Float64Array.from(points, (point) => mean(point) + 0.2 * (uniform() + uniform() - 1));
  return { terms, x, y };
}

describe('selectModel', () => {
  it('finds the backward AIC models of the CVD composite among all hierarchical ones by BIC or AICc', () => {
    const table = dataTable('cvd-composite');
    const expected = expectedOf('cvd-composite');
    const labels = ['(Intercept)', 'x1', 'x2', 'x1:x2', 'I(x1^2)', 'I(x2^2)'];
    const terms = labels.map(powersOf);
    const input = { x: matrixFor(table, labels), y: column(table, 'uniformity'), terms };
    const bic = selectModel({ ...input, criterion: 'bic' });
    // The handbook's and R's reduced model: x1, x2 and their product.
    expect(bic.search).toBe('all');
    const wanted = expected.uniformity_interaction_model.fit;
    const same = [...bic.nearlyAsGood].find(({ terms: t }) => t.join() === '0,1,2,3');
    expect(same!.criterion).toBeCloseTo(wanted.bic_R, 9);
    expect(same!.rss).toBeCloseTo(wanted.rss, 9);
  });

  it('looks at every hierarchical model: 13 for two factors, quadratic', () => {
    // With intercept: none; a (± a²): 2; b (± b²): 2; both: 2·2·2 with their product or not = 8.
    const { terms, x, y } = invented('ab', 14, 1, ({ a, b }) => a! - b!);
    const found = selectModel({ terms, x, y });
    expect(found.looked).toBe(13);
    for (const { terms: list } of found.nearlyAsGood)
      expect(isHierarchical(list.map((j) => terms[j]!))).toBe(true);
  });

  it('agrees with a fit of each model listed', () => {
    const { terms, x, y } = invented('abc', 24, 2, ({ a, b, c }) => 5 + a! - b! * c! + 2 * a! * a!);
    const found = selectModel({ terms, x, y, within: 4 });
    for (const { terms: list, rss, criterion } of found.nearlyAsGood) {
      const data = new Float64Array(x.rows * list.length);
      for (let i = 0; i < x.rows; i++)
        for (const [k, j] of list.entries()) data[i * list.length + k] = x.data[i * x.cols + j]!;
      const fit = leastSquares({ x: { rows: x.rows, cols: list.length, data }, y });
      if (fit.kind !== 'fitted') throw new Error(fit.kind);
      expect(rss).toBeCloseTo(fit.rss, 10);
      expect(criterion).toBeCloseTo(
        informationCriterion('aicc', fit.rss, 1, x.rows, list.length),
        8,
      );
    }
    const names = found.best.terms.map((j) => termName(terms[j]!));
    for (const name of ['a', 'b', 'c', 'b × c', 'a²']) expect(names).toContain(name);
    expect(found.nearlyAsGood[0]!.behind).toBe(0);
  });

  it('searches by steps when the models are too many, and finds what all of them would show', () => {
    const { terms, x, y } = invented(
      'abc',
      30,
      3,
      ({ a, b, c }) => a! + b! + 2 * a! * b! - c! * c! + c!,
    );
    const all = selectModel({ terms, x, y });
    const guided = selectModel({ terms, x, y, limit: 10 });
    expect([all.search, guided.search]).toEqual(['all', 'guided']);
    expect(guided.best.terms).toEqual(all.best.terms);
  });

  it('chooses within six factors on 60 runs in a guided search', () => {
    const { terms, x, y } = invented(
      'abcdef',
      60,
      4,
      ({ a, b, c, d }) => a! - b! + a! * b! + 2 * c! * c! + c! + 0.01 * d!,
    );
    const found = selectModel({ terms, x, y });
    expect(found.search).toBe('guided');
    const names = found.best.terms.map((j) => termName(terms[j]!));
    for (const name of ['a', 'b', 'a × b', 'c', 'c²']) expect(names).toContain(name);
    expect(isHierarchical(found.best.terms.map((j) => terms[j]!))).toBe(true);
  });

  it('keeps contrasts of a named factor together and what it is told to keep', () => {
    const terms: Powers[] = [{}, { a: 1 }, { nozzle: 'x' }, { nozzle: 'y' }];
    const data = Array.from({ length: 12 }, (_, i) => [
      1,
      (i % 2) * 2 - 1,
      i % 3 === 0 ? 1 : i % 3 === 2 ? -1 : 0,
      i % 3 === 1 ? 1 : i % 3 === 2 ? -1 : 0,
    ]).flat();
    const y = Float64Array.from({ length: 12 }, (_, i) => (i % 3) * 3 + Math.sin(i));
    const x = { rows: 12, cols: 4, data: Float64Array.from(data) };
    const found = selectModel({ terms, x, y, within: 100 });
    expect(found.looked).toBe(4);
    for (const { terms: list } of found.nearlyAsGood)
      expect(list.includes(2)).toBe(list.includes(3));
    const kept = selectModel({ terms, x, y, keep: [1], within: 100 });
    expect(kept.nearlyAsGood.every(({ terms: list }) => list.includes(1))).toBe(true);
  });

  it('throws too_few_runs when nothing can be judged', () => {
    const x = { rows: 3, cols: 1, data: Float64Array.of(1, 1, 1) };
    expect(() =>
      selectModel({ x, y: Float64Array.of(1, 2, 4), terms: [{}] }),
    ).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: selectModel: runs must outnumber the terms of the smallest model by at least three; got fewer. Add runs before choosing among models.]`,
    );
  });
});
