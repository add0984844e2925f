import {
  bestOf,
  modelTerms,
  type NumericFactor,
  type OptimalProblem,
  oneStart,
} from '@strandwise/core';
import { bench, describe, expect } from 'vitest';
import { type PlainProblem, plainPass, plainStart, plainWorth } from './plain-exchange.ts';

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

const split = {
  factors: factors(3),
  structure: { kind: 'split-plot', wholePlots: 12, cells: 4, varianceRatio: 1 },
} as const;

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

let sink = 0;
let start = 0;
const once = (search: OptimalProblem) => () => {
  sink += oneStart(search, start++ % 1000).score;
};

const whole = { factors: factors(0), levels: GRID, runs: 40, cells: 1, ratio: 0 };
const plots = { factors: factors(3), levels: GRID, runs: 48, cells: 4, ratio: 1 };
const coarse = { resolution: 0, gridLevels: 5 } as const;
const compared: readonly (readonly [string, OptimalProblem, PlainProblem])[] = [
  ['D, 40 runs', problem('D', coarse), { ...whole, criterion: 'D' }],
  ['I, 40 runs', problem('I', coarse), { ...whole, criterion: 'I' }],
  ['D, split plot 12 × 4', problem('D', { ...split, ...coarse }), { ...plots, criterion: 'D' }],
];

describe.each(compared)(
  'one start on five levels, 6 factors quadratic (28 terms): %s',
  (_, search, plain) => {
    // Correct first: both count the same value, and no coordinate can be bettered by the slow way.
    const { points, criterion } = bestOf([0, 1, 2].map((i) => oneStart(search, i)))!;
    const value = plain.criterion === 'D' ? criterion : -criterion;
    expect(plainWorth(points, plain)).toBeCloseTo(value, 6);
    expect(plainPass([...points], plain).value).toBeCloseTo(value, 6);
    bench('low-rank updates', once(search), { iterations: 30 });
    bench(
      'every matrix from nothing',
      () => {
        sink += plainStart(start++ % 1000, plain);
      },
      { iterations: 1, warmupIterations: 0, time: 0 },
    );
  },
);

describe('one start with refinement, 6 factors quadratic (28 terms)', () => {
  expect(Number.isFinite(oneStart(problem('I', split), 0).criterion)).toBe(true);
  bench('D, 40 runs', once(problem('D')), { iterations: 30 });
  bench('I, 40 runs', once(problem('I')), { iterations: 30 });
  bench('D, split plot 12 × 4', once(problem('D', split)), { iterations: 30 });
  bench('I, split plot 12 × 4', once(problem('I', split)), { iterations: 30 });
});

process.on('exit', () => {
  if (Number.isNaN(sink)) throw new Error('a start gave no number');
});
