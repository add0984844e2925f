import {
  anova,
  type Dense,
  determination,
  type Fitted,
  leastSquares,
  quickLook,
  runDiagnostics,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const seed = 20240607;

/** Settings and readings as people make them: multiples of 0.001. */
const step = (low: number, high: number) =>
  fc.integer({ min: 1000 * low, max: 1000 * high }).map((value) => value / 1000);

/** Models with an intercept and one to five more columns, on up to 24 runs. */
const model = fc
  .record({
    extra: fc.integer({ min: 2, max: 18 }),
    terms: fc.integer({ min: 1, max: 5 }),
    entries: fc.array(step(-1, 1), {
      minLength: 144,
      maxLength: 144,
    }),
    values: fc.array(step(-50, 50), {
      minLength: 24,
      maxLength: 24,
    }),
    weights: fc.array(step(0.2, 5), {
      minLength: 24,
      maxLength: 24,
    }),
    isWeighted: fc.boolean(),
  })
  .map(({ extra, terms, entries, values, weights, isWeighted }) => {
    const cols = terms + 1;
    const rows = Math.min(24, cols + extra);
    const data = new Float64Array(rows * cols);
    for (let i = 0; i < rows; i++)
      for (let j = 0; j < cols; j++) data[i * cols + j] = j === 0 ? 1 : entries[i * 6 + j]!;
    return {
      x: { rows, cols, data } as Dense,
      y: Float64Array.from(values.slice(0, rows)),
      ...(isWeighted ? { weights: Float64Array.from(weights.slice(0, rows)) } : {}),
    };
  });

/** Only well-conditioned, noisy models: near-aliased ones have their own tests. */
function fittedOrSkip(input: Parameters<typeof leastSquares>[0]): Fitted {
  const fit = leastSquares({ ...input, rankTolerance: 1e-3 });
  fc.pre(fit.kind === 'fitted' && !fit.isPerfect);
  return fit as Fitted;
}

const check = (property: fc.IPropertyWithHooks<[Parameters<typeof leastSquares>[0]]>): void =>
  fc.assert(property, { seed, numRuns: 200 });

describe('leastSquares', () => {
  it('law: weighted residuals are orthogonal to every column', () => {
    check(
      fc.property(model, (input) => {
        const { residuals } = fittedOrSkip(input);
        const { rows, cols, data } = input.x;
        for (let j = 0; j < cols; j++) {
          let sum = 0;
          let size = 0;
          for (let i = 0; i < rows; i++) {
            const part = (input.weights?.[i] ?? 1) * residuals[i]! * data[i * cols + j]!;
            sum += part;
            size += Math.abs(part);
          }
          // Rounding of the sum itself, on values of up to 50.
          expect(Math.abs(sum)).toBeLessThanOrEqual(1e-12 * (size + 50));
        }
      }),
    );
  });

  it('law: leverages lie in [0, 1] and sum to the number of columns', () => {
    check(
      fc.property(model, (input) => {
        const { leverages } = fittedOrSkip(input);
        expect(leverages.every((h) => h >= 0 && h <= 1)).toBe(true);
        const sum = leverages.reduce((total, h) => total + h, 0);
        expect(Math.abs(sum - input.x.cols)).toBeLessThan(1e-10);
      }),
    );
  });

  it('law: a fit ignores the order of the runs', () => {
    check(
      fc.property(model, (input) => {
        const fit = fittedOrSkip(input);
        const { rows, cols, data } = input.x;
        const order = Array.from({ length: rows }, (_, i) => (i * 7 + 3) % rows);
        fc.pre(new Set(order).size === rows);
        const turned = fittedOrSkip({
          x: {
            rows,
            cols,
            data: Float64Array.from(
              order.flatMap((i) => [...data.subarray(i * cols, (i + 1) * cols)]),
            ),
          },
          y: Float64Array.from(order, (i) => input.y[i]!),
          ...(input.weights
            ? { weights: Float64Array.from(order, (i) => input.weights![i]!) }
            : {}),
        });
        for (let j = 0; j < cols; j++) {
          const scale = fit.standardErrors[j]!;
          expect(Math.abs(turned.coefficients[j]! - fit.coefficients[j]!)).toBeLessThan(
            1e-9 * (scale + 1),
          );
          expect(Math.abs(turned.standardErrors[j]! / scale - 1)).toBeLessThan(1e-9);
        }
      }),
    );
  });

  it('law: scaling the response scales coefficients and standard errors, not t, leverage or R²', () => {
    check(
      fc.property(model, (input) => {
        const fit = fittedOrSkip(input);
        const scaled = fittedOrSkip({ ...input, y: input.y.map((value) => 1000 * value) });
        for (let j = 0; j < input.x.cols; j++) {
          expect(
            Math.abs(scaled.standardErrors[j]! / (1000 * fit.standardErrors[j]!) - 1),
          ).toBeLessThan(1e-9);
          expect(Math.abs(scaled.coefficients[j]! - 1000 * fit.coefficients[j]!)).toBeLessThan(
            1e-8 * 1000 * (fit.standardErrors[j]! + 1),
          );
        }
        const [a, b] = [determination(fit).rSquared, determination(scaled).rSquared];
        if (a !== null) expect(Math.abs(b! - a)).toBeLessThan(1e-9);
      }),
    );
  });

  it('law: shifting the response moves the intercept only', () => {
    check(
      fc.property(model, (input) => {
        const fit = fittedOrSkip(input);
        const shifted = fittedOrSkip({ ...input, y: input.y.map((value) => value + 1e6) });
        expect(Math.abs(shifted.coefficients[0]! - fit.coefficients[0]! - 1e6)).toBeLessThan(1e-7);
        for (let j = 1; j < input.x.cols; j++)
          expect(Math.abs(shifted.coefficients[j]! - fit.coefficients[j]!)).toBeLessThan(1e-6);
      }),
    );
  });

  it('law: sequential sums of squares and the residual add up to the total about the mean', () => {
    check(
      fc.property(model, (input) => {
        fc.pre(input.weights === undefined);
        const fit = fittedOrSkip(input);
        const groups = Array.from({ length: input.x.cols - 1 }, (_, j) => ({
          source: `term ${j}`,
          columns: [j + 1],
        }));
        const table = anova(fit, groups);
        const sum = table.sequential.reduce((total, row) => total + row.ss, 0) + fit.rss;
        expect(Math.abs(sum - fit.totalSs)).toBeLessThan(1e-10 * (1 + fit.totalSs));
        // The last term added is the one tested after all others.
        const [last, partial] = [table.sequential.at(-1)!, table.partial.at(-1)!];
        expect(Math.abs(last.ss - partial.ss)).toBeLessThan(1e-8 * (1 + fit.totalSs));
      }),
    );
  });

  it('law: PRESS residuals are those of fits without the run', () => {
    check(
      fc.property(model, (input) => {
        const fit = fittedOrSkip(input);
        const { rows, cols, data } = input.x;
        fc.pre(rows > cols + 1 && fit.leverages[0]! < 0.95);
        const rest = leastSquares({
          x: { rows: rows - 1, cols, data: data.slice(cols) },
          y: input.y.slice(1),
          ...(input.weights ? { weights: input.weights.slice(1) } : {}),
        });
        fc.pre(rest.kind === 'fitted');
        let predicted = 0;
        for (let j = 0; j < cols; j++) predicted += data[j]! * (rest as Fitted).coefficients[j]!;
        const left = fit.residuals[0]! / (1 - fit.leverages[0]!);
        expect(Math.abs(input.y[0]! - predicted - left)).toBeLessThan(1e-7 * (1 + Math.abs(left)));
        const shown = runDiagnostics(fit)[0]!.deletedStudentised;
        if (shown !== null) {
          const root = Math.sqrt(input.weights?.[0] ?? 1);
          const direct =
            (root * fit.residuals[0]!) /
            ((rest as Fitted).residualSd * Math.sqrt(1 - fit.leverages[0]!));
          expect(Math.abs(shown - direct)).toBeLessThan(1e-6 * (1 + Math.abs(direct)));
        }
      }),
    );
  });

  it('law: agrees with an independent routine on normal equations (ml-regression-multivariate-linear)', () => {
    check(
      fc.property(model, (input) => {
        fc.pre(input.weights === undefined);
        const fit = fittedOrSkip(input);
        const look = quickLook(input.x, input.y);
        if (look.kind !== 'looked') throw new Error(look.kind);
        // Normal equations square the condition, here up to about 1e3.
        for (const [j, value] of fit.coefficients.entries())
          expect(Math.abs(look.coefficients[j]! - value)).toBeLessThan(
            1e-6 * (1 + Math.abs(value)),
          );
      }),
    );
  });
});
