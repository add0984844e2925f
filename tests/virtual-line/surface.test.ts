import {
  leastSquares,
  modelMatrix,
  modelTerms,
  NumericFactor,
  naturalPoint,
  seededUniform,
  termName,
} from '@strandwise/core';
import { demoScenario, px31, truth } from '@strandwise/virtual-line';
import { describe, expect, it } from 'vitest';

/** Factors centred at level 195, tilt 20, hump 10, 5 rpm, fan 50 % with the given half-widths. */
const box = (half: readonly number[]) =>
  (
    [
      ['level', 195],
      ['tilt', 20],
      ['hump', 10],
      ['screw', 5],
      ['fan', 50],
    ] as const
  ).map(([acts, centre], i) =>
    NumericFactor.parse({
      name: acts,
      low: centre - half[i]!,
      high: centre + half[i]!,
      acts,
    }),
  );

function fitted(half: readonly number[], model: 'main' | 'quadratic', dieMismatchNoise = 0) {
  const factors = box(half);
  const stateOf = truth({ ...demoScenario, factors, grade: { ...px31, dieMismatchNoise } });
  const uniform = seededUniform(71);
  const coded = Array.from({ length: 1500 }, () =>
    Object.fromEntries(factors.map(({ name }) => [name, 2 * uniform() - 1])),
  );
  const y = Float64Array.from(coded, (point) =>
    Math.log(stateOf(naturalPoint(point, factors)).sdMm),
  );
  const terms = modelTerms(model, factors);
  const fit = leastSquares({ x: modelMatrix(terms, coded, factors), y });
  if (fit.kind !== 'fitted') throw new Error(`expected a fit; got ${fit.kind}`);
  const coefficient = (name: string) =>
    fit.coefficients[terms.findIndex((term) => termName(term) === name)]!;
  return { rSquared: 1 - fit.rss / fit.totalSs, residualSd: fit.residualSd, coefficient };
}

const narrow = [10, 10, 8, 1.5, 25];
const wide = [18, 20, 15, 2.5, 40];

// Printed figures of an earlier, separate run of the same equations over random points of the same
// boxes, to two digits; other points and a heat capacity it did not print leave up to 0.02.
describe('truth', () => {
  it('is second-order to the printed degree in a narrow box, less so in a wide one', () => {
    expect(Math.abs(fitted(narrow, 'main').rSquared - 0.55)).toBeLessThan(0.05);
    const quadratic = fitted(narrow, 'quadratic');
    expect(Math.abs(quadratic.rSquared - 0.95)).toBeLessThan(0.02);
    expect(Math.abs(quadratic.residualSd - 0.03)).toBeLessThan(0.005);
    const far = fitted(wide, 'quadratic');
    expect(Math.abs(far.rSquared - 0.92)).toBeLessThan(0.03);
    expect(Math.abs(far.residualSd - 0.11)).toBeLessThan(0.005);
  });

  it.each([
    ['screw', 0.15],
    ['screw²', 0.09],
    ['screw × fan', -0.16],
    ['fan²', 0.12],
    ['level²', 0.14],
    ['level', 0.07],
    ['level × tilt', -0.06],
  ])('has %s coefficient %f on ln SD', (name, want) => {
    expect(Math.abs(fitted(narrow, 'quadratic').coefficient(name) - want)).toBeLessThan(0.02);
    // The die term of the demonstration's grade changes little of it.
    expect(Math.abs(fitted(narrow, 'quadratic', 0.004).coefficient(name) - want)).toBeLessThan(
      0.025,
    );
  });
});
