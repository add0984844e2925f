import {
  bestOf,
  modelTerms,
  type NumericFactor,
  type OptimalProblem,
  oneStart,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { expectedOf } from './dataset.ts';

interface ExactCase {
  readonly k: number;
  readonly n: number;
  readonly p: number;
  readonly log_det_XtX: number;
  readonly 'I_average_variance_tr(XtX^-1 W)': number;
  readonly status: string;
}

const expected = expectedOf('optimal-designs');
const cases: readonly ExactCase[] = expected.exact_second_order;
const seed = 11;

function factors(k: number): NumericFactor[] {
  return Array.from({ length: k }, (_, i) => ({
    name: `x${i + 1}`,
    low: -1,
    high: 1,
    changes: 'easy',
  }));
}

function problem(
  k: number,
  runs: number,
  criterion: 'D' | 'I',
  rest: Partial<OptimalProblem> = {},
): OptimalProblem {
  return {
    factors: factors(k),
    terms: modelTerms('quadratic', factors(k)),
    criterion,
    structure: { kind: 'runs', runs },
    seed,
    ...rest,
  };
}

const onThreeLevels = (k: number): Pick<OptimalProblem, 'levels'> => ({
  levels: Object.fromEntries(factors(k).map(({ name }) => [name, [-1, 0, 1]])),
});

function bestCriterion(search: OptimalProblem, starts: number): number {
  const results = Array.from({ length: starts }, (_, i) => oneStart(search, i));
  return bestOf(results)!.criterion;
}

/** More factors have more local optima. */
const startsFor = ({ k }: ExactCase): number => (k === 3 ? 120 : 60);

describe('optimalDesign against exact second-order designs', () => {
  for (const known of cases) {
    const name = `k=${known.k}, n=${known.n}`;
    const isExhaustive = known.status.startsWith('exhaustive');

    it(`reaches the D-optimum on three levels, ${name}`, () => {
      const got = bestCriterion(
        problem(known.k, known.n, 'D', onThreeLevels(known.k)),
        startsFor(known),
      );
      if (isExhaustive) {
        // The optimum over every multiset of grid points: reached, and not passed.
        expect(Math.abs(got - known.log_det_XtX), `${got} vs ${known.log_det_XtX}`).toBeLessThan(
          1e-6,
        );
      } else {
        const efficiency = Math.exp((got - known.log_det_XtX) / known.p);
        expect(efficiency, `ln det ${got} vs ${known.log_det_XtX}`).toBeGreaterThan(0.995);
      }
    });

    it(`reaches at least the three-level D-optimum on continuous levels, ${name}`, () => {
      const got = bestCriterion(problem(known.k, known.n, 'D'), startsFor(known));
      const efficiency = Math.exp((got - known.log_det_XtX) / known.p);
      expect(efficiency, `ln det ${got} vs ${known.log_det_XtX}`).toBeGreaterThan(
        isExhaustive ? 1 - 1e-6 : 0.995,
      );
    });

    it(`reaches the I-optimum on three levels, ${name}`, () => {
      const value = known['I_average_variance_tr(XtX^-1 W)'];
      const got = bestCriterion(
        problem(known.k, known.n, 'I', onThreeLevels(known.k)),
        startsFor(known),
      );
      if (isExhaustive) expect(Math.abs(got / value - 1), `${got} vs ${value}`).toBeLessThan(1e-6);
      else expect(got / value, `${got} vs ${value}`).toBeLessThan(1.01);
    });
  }
});

describe('optimalDesign against continuous optima', () => {
  it('law: no exact design passes the continuous D-optimum on the cube', () => {
    for (const [k, bound] of Object.entries(expected.D_optimal_second_order_cube)) {
      const { p, log_det_M: limit } = bound as { p: number; log_det_M: number };
      if (Number(k) > 4) continue;
      const n = 2 * p;
      const got = bestCriterion(problem(Number(k), n, 'D'), 20);
      const efficiency = Math.exp((got - p * Math.log(n) - limit) / p);
      expect(efficiency).toBeLessThan(1 + 1e-9);
      expect(efficiency).toBeGreaterThan(0.96);
    }
  });

  it('reaches polynomial D-optima of one factor (Guest 1958, Hoel 1958)', () => {
    for (const [degree, { det_M }] of Object.entries(
      expected['D_optimal_polynomial_on_[-1,1]'],
    ) as [string, { det_M: number }][]) {
      const p = Number(degree) + 1;
      const terms = Array.from({ length: p }, (_, e) => (e === 0 ? {} : { x1: e }));
      const search = problem(1, p, 'D', { terms, resolution: 0.001, gridLevels: 21 });
      const efficiency = Math.exp(
        (bestCriterion(search, 40) - p * Math.log(p) - Math.log(det_M)) / p,
      );
      // Levels are rounded to 0.001, which costs less than 1e-5 of efficiency.
      expect(efficiency, `degree ${degree}`).toBeGreaterThan(1 - 1e-5);
      expect(efficiency, `degree ${degree}`).toBeLessThan(1 + 1e-9);
    }
  });
});

describe('optimalDesign against maximal determinants', () => {
  const main = (runs: number, k: number): OptimalProblem =>
    problem(k, runs, 'D', {
      terms: modelTerms('main', factors(k)),
      levels: Object.fromEntries(factors(k).map(({ name }) => [name, [-1, 1]])),
    });

  it('reaches the largest determinant of ±1 matrices up to 11 runs', () => {
    const known = expected.saturated_two_level_main_effects.max_abs_det_X;
    for (let n = 3; n <= 11; n++) {
      const got = bestCriterion(main(n, n - 1), 200);
      expect(Math.exp(got / 2) / known[n], `n = ${n}`).toBeCloseTo(1, 8);
    }
  });

  it('reaches orthogonal columns where a Hadamard matrix has them', () => {
    for (const { N, p, log_det } of expected.orthogonal_two_level.examples) {
      if (N > 16) continue;
      expect(bestCriterion(main(N, p - 1), 300), `N = ${N}, p = ${p}`).toBeCloseTo(log_det, 8);
    }
  });
});
