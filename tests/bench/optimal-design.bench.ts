import {
  bestOf,
  modelMatrix,
  modelTerms,
  type NumericFactor,
  type OptimalProblem,
  oneStart,
  type Point,
  seededUniform,
} from '@strandwise/core';
import { bench, describe, expect } from 'vitest';

// Starts per second of the search (read the "hz" column), and its ratio to coordinate exchange by
// the book: every candidate's information matrix is built and factored from nothing.

const GRID = [-1, -0.5, 0, 0.5, 1];

function factors(hard: number): NumericFactor[] {
  return Array.from({ length: 6 }, (_, i) => ({
    name: `x${i + 1}`,
    low: -1,
    high: 1,
    changes: i < hard ? 'hard' : 'easy',
  }));
}

function problem(criterion: 'D' | 'I', rest: Partial<OptimalProblem> = {}): OptimalProblem {
  return {
    factors: factors(0),
    terms: modelTerms('quadratic', factors(0)),
    criterion,
    structure: { kind: 'runs', runs: 40 },
    seed: 3,
    ...rest,
  };
}

const terms = modelTerms('quadratic', factors(0));

/** ln det XᵀX by Gaussian elimination; −Infinity when singular. */
function logDet(points: readonly Point[]): number {
  const { data, rows, cols: p } = modelMatrix(terms, points, factors(0));
  const m = new Float64Array(p * p);
  for (let r = 0; r < rows; r++)
    for (let i = 0; i < p; i++)
      for (let j = 0; j < p; j++) m[i * p + j]! += data[r * p + i]! * data[r * p + j]!;
  let sum = 0;
  for (let c = 0; c < p; c++) {
    const pivot = m[c * p + c]!;
    if (pivot < 1e-9) return Number.NEGATIVE_INFINITY;
    sum += Math.log(pivot);
    for (let i = c + 1; i < p; i++) {
      const factor = m[i * p + c]! / pivot;
      for (let j = c; j < p; j++) m[i * p + j]! -= factor * m[c * p + j]!;
    }
  }
  return sum;
}

/** One pass over all coordinates by the book; returns the better design and its ln det. */
function plainPass(points: Point[]): { points: Point[]; value: number } {
  let best = points;
  let value = logDet(points);
  for (let i = 0; i < points.length; i++) {
    for (const { name } of factors(0)) {
      for (const level of GRID) {
        const tried = best.map((point, at) => (at === i ? { ...point, [name]: level } : point));
        const worth = logDet(tried);
        if (worth > value + 1e-7) {
          value = worth;
          best = tried;
        }
      }
    }
  }
  return { points: best, value };
}

function plainStart(index: number): number {
  const uniform = seededUniform(3, `plain ${index}`);
  let points: Point[] = Array.from({ length: 40 }, () =>
    Object.fromEntries(factors(0).map(({ name }) => [name, 2 * uniform() - 1])),
  );
  let value = Number.NEGATIVE_INFINITY;
  for (;;) {
    const next = plainPass(points);
    if (next.value <= value + 1e-7) return next.value;
    ({ points, value } = next);
  }
}

let sink = 0;
let start = 0;
const once = (search: OptimalProblem) => () => {
  sink += oneStart(search, start++ % 1000).score;
};

describe('one D start on five levels, 6 factors quadratic (28 terms), 40 runs', () => {
  const search = problem('D', { resolution: 0, gridLevels: 5 });
  // Correct first: no coordinate of the result can be bettered by the slow way, and values agree.
  const { points, criterion } = bestOf([0, 1, 2].map((i) => oneStart(search, i)))!;
  expect(logDet(points)).toBeCloseTo(criterion, 6);
  expect(plainPass([...points]).value).toBeCloseTo(criterion, 6);
  bench('rank-two updates', once(search), { iterations: 30 });
  bench(
    'every matrix from nothing',
    () => {
      sink += plainStart(start++ % 1000);
    },
    { iterations: 2, warmupIterations: 0, time: 0 },
  );
});

describe('one start with refinement, 6 factors quadratic (28 terms)', () => {
  const split = {
    factors: factors(3),
    structure: { kind: 'split-plot', wholePlots: 12, cells: 4, varianceRatio: 1 },
  } as const;
  expect(Number.isFinite(oneStart(problem('I', split), 0).criterion)).toBe(true);
  bench('D, 40 runs', once(problem('D')), { iterations: 30 });
  bench('I, 40 runs', once(problem('I')), { iterations: 30 });
  bench('D, split plot 12 × 4', once(problem('D', split)), { iterations: 30 });
  bench('I, split plot 12 × 4', once(problem('I', split)), { iterations: 30 });
});

process.on('exit', () => {
  if (Number.isNaN(sink)) throw new Error('a start gave no number');
});
