// Plans whose promises are judged by simulation, and the surface that is true in all of them.
import {
  Factor,
  leastSquares,
  modelMatrix,
  modelTerms,
  optimalDesign,
  type Point,
  settingsOf,
} from '@strandwise/core';

/** SD of a cell within its plot. */
export const CELL_SD = 0.15;
/** Best place of the true bowl, coded. */
export const BOTTOM = Float64Array.of(0.3, -0.2, 0.1);
/** Where means and fresh set-ups are judged: centre, best place, an inner place, a corner. */
export const PLACES = [[0, 0, 0], [...BOTTOM], [0.7, 0.7, -0.7], [1, -1, 1]].map((at) =>
  Float64Array.from(at),
);

/** A bowl with its bottom at (0.3, −0.2, 0.1), and slopes that lean on each other. */
export function truth(x: Float64Array): number {
  const [a, b, c] = [x[0]! - BOTTOM[0]!, x[1]! - BOTTOM[1]!, x[2]! - BOTTOM[2]!];
  return 0.5 * a * a + 0.35 * b * b + 0.4 * c * c + 0.2 * a * b - 0.15 * b * c;
}

const factorsOf = (hard: number): Factor[] =>
  ['a', 'b', 'c'].map((name, i) =>
    Factor.parse({ name, low: -1, high: 1, changes: i < hard ? 'hard' : 'easy' }),
  );

interface Cell {
  readonly coded: Point;
  readonly plot: number;
}

function optimalCells(factors: Factor[], wholePlots: number, cells: number): Cell[] {
  const structure = { kind: 'split-plot', wholePlots, cells, varianceRatio: 1 } as const;
  const terms = modelTerms('quadratic', factors);
  const found = optimalDesign(
    { factors, terms, criterion: 'I', structure, seed: 7 },
    { starts: 10 },
  );
  if (found.kind !== 'found') throw new Error(found.words);
  return found.design.runs.map(({ coded, wholePlot }) => ({ coded, plot: wholePlot! }));
}

/** Three levels of a, each with a factorial and a star plot in the others, every plot made twice. */
function repeatedCells(): Cell[] {
  const factorial = [-1, 1].flatMap((b) => [-1, 1].map((c) => ({ b, c })));
  const star = [-1, 1].flatMap((end) => [
    { b: end, c: 0 },
    { b: 0, c: end },
  ]);
  const plots = [-1, 0, 1].flatMap((a) =>
    [factorial, star, factorial, star].map((inner) =>
      [...inner, { b: 0, c: 0 }].map((rest) => ({ a, ...rest })),
    ),
  );
  return plots.flatMap((plot, g) => plot.map((coded) => ({ coded, plot: g })));
}

/** A plan ready to be run many times. */
export type TrialPlan = ReturnType<typeof trialPlan>;

function trialPlan(name: string, factors: Factor[], cells: readonly Cell[]) {
  const terms = modelTerms('quadratic', factors);
  const points = cells.map(({ coded }) => coded);
  const x = modelMatrix(terms, points, factors);
  const settings = points.map((coded) => settingsOf(coded, factors));
  const exact = leastSquares({ x, y: Float64Array.from(settings, truth) });
  if (exact.kind === 'aliased') throw new Error(`${name} cannot tell its terms apart`);
  const keys = points.map((coded) => JSON.stringify(coded));
  const isSetOncePerPlot = terms.map((powers) =>
    factors.every((factor) => factor.changes === 'hard' || !powers[factor.name]),
  );
  return {
    name,
    factors,
    terms,
    x,
    settings,
    plots: Int32Array.from(cells, ({ plot }) => plot),
    /** Equal settings share a label. */
    treatments: Int32Array.from(keys, (key) => keys.indexOf(key)),
    /** True coefficients. */
    trueTerms: exact.coefficients,
    isSetOncePerPlot,
  };
}

/** The plans of the table, or one of them by name; an optimal one takes a second to find. */
export function trialPlans(only?: string): TrialPlan[] {
  const [one, two] = [factorsOf(1), factorsOf(2)];
  const plans: readonly [string, Factor[], () => readonly Cell[]][] = [
    ['12 plots of 3, one hard factor', one, () => optimalCells(one, 12, 3)],
    ['10 plots of 3, two hard factors', two, () => optimalCells(two, 10, 3)],
    ['6 plots of 4, one hard factor', one, () => optimalCells(one, 6, 4)],
    ['12 plots of 5, every plot twice', one, repeatedCells],
  ];
  return plans
    .filter(([name]) => only === undefined || name === only)
    .map(([name, factors, cells]) => trialPlan(name, factors, cells()));
}
