import {
  modelMatrix,
  modelTerms,
  type NumericFactor,
  type Point,
  seededUniform,
} from '@strandwise/core';

/** Coordinate exchange by the book: for every candidate the information matrix is built from nothing. */
export interface PlainProblem {
  readonly factors: readonly NumericFactor[];
  readonly criterion: 'D' | 'I';
  readonly levels: readonly number[];
  readonly runs: number;
  /** Cells of a whole plot in which hard factors stay put, and the variance ratio; 1 and 0 without. */
  readonly cells: number;
  readonly ratio: number;
}

/** ln det M for D, −tr(M⁻¹W) for I; −Infinity when singular. Larger is better. */
export function plainWorth(points: readonly Point[], problem: PlainProblem): number {
  const terms = modelTerms('quadratic', problem.factors);
  const p = terms.length;
  const m = information(points, problem);
  if (problem.criterion === 'D') return logDet(m, p);
  const inverse = inverseOf(m, p);
  if (!inverse) return Number.NEGATIVE_INFINITY;
  let trace = 0;
  for (let i = 0; i < p; i++)
    for (let j = 0; j < p; j++) trace += inverse[i * p + j]! * moment(terms[i]!, terms[j]!);
  return -trace;
}

/** XᵀV⁻¹X; V⁻¹ of a plot of m cells is I − η/(1 + mη)·11ᵀ. */
function information(points: readonly Point[], problem: PlainProblem): Float64Array {
  const { factors, cells, ratio } = problem;
  const { data, rows, cols: p } = modelMatrix(modelTerms('quadratic', factors), points, factors);
  const m = new Float64Array(p * p);
  const shared = ratio / (1 + cells * ratio);
  for (let first = 0; first < rows; first += cells) {
    const sums = new Float64Array(p);
    for (let r = first; r < first + cells; r++) {
      for (let i = 0; i < p; i++) {
        sums[i]! += data[r * p + i]!;
        for (let j = 0; j < p; j++) m[i * p + j]! += data[r * p + i]! * data[r * p + j]!;
      }
    }
    for (let i = 0; i < p; i++)
      for (let j = 0; j < p; j++) m[i * p + j]! -= shared * sums[i]! * sums[j]!;
  }
  return m;
}

/** Mean of a product of two terms over the box: 1/(e + 1) for each even power e, else 0. */
function moment(
  a: Readonly<Record<string, unknown>>,
  b: Readonly<Record<string, unknown>>,
): number {
  let value = 1;
  for (const name of new Set([...Object.keys(a), ...Object.keys(b)])) {
    const power = Number(a[name] ?? 0) + Number(b[name] ?? 0);
    value *= power % 2 === 0 ? 1 / (power + 1) : 0;
  }
  return value;
}

function logDet(m: Float64Array, p: number): number {
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

/** Gauss–Jordan without pivoting, enough for a positive definite matrix; null when singular. */
function inverseOf(m: Float64Array, p: number): Float64Array | null {
  const out = new Float64Array(p * p);
  for (let i = 0; i < p; i++) out[i * p + i] = 1;
  for (let c = 0; c < p; c++) {
    const pivot = m[c * p + c]!;
    if (pivot < 1e-9) return null;
    for (let j = 0; j < p; j++) {
      m[c * p + j]! /= pivot;
      out[c * p + j]! /= pivot;
    }
    for (let i = 0; i < p; i++) {
      const factor = m[i * p + c]!;
      if (i === c || factor === 0) continue;
      for (let j = 0; j < p; j++) {
        m[i * p + j]! -= factor * m[c * p + j]!;
        out[i * p + j]! -= factor * out[c * p + j]!;
      }
    }
  }
  return out;
}

/** One pass over all coordinates; hard factors move a whole plot at once. */
export function plainPass(
  points: Point[],
  problem: PlainProblem,
): { points: Point[]; value: number } {
  const { factors, levels, runs, cells } = problem;
  let best = points;
  let value = plainWorth(points, problem);
  for (let i = 0; i < runs; i++) {
    for (const { name, changes } of factors) {
      const isHard = changes === 'hard';
      if (isHard && i % cells !== 0) continue;
      for (const level of levels) {
        const tried = best.map((point, at) =>
          (isHard ? Math.floor(at / cells) === i / cells : at === i)
            ? { ...point, [name]: level }
            : point,
        );
        const worth = plainWorth(tried, problem);
        if (worth > value + 1e-7) [best, value] = [tried, worth];
      }
    }
  }
  return { points: best, value };
}

/** Passes from random settings until none helps; the value reached. */
export function plainStart(index: number, problem: PlainProblem): number {
  const { factors, runs, cells } = problem;
  const uniform = seededUniform(3, `plain ${index}`);
  const drawn = Array.from({ length: runs }, () =>
    Object.fromEntries(factors.map(({ name }) => [name, 2 * uniform() - 1])),
  );
  let points: Point[] = drawn.map((point, i) => {
    const first = drawn[i - (i % cells)]!;
    const hard = factors.filter(({ changes }) => changes === 'hard');
    return { ...point, ...Object.fromEntries(hard.map(({ name }) => [name, first[name]!])) };
  });
  let value = Number.NEGATIVE_INFINITY;
  for (;;) {
    const next = plainPass(points, problem);
    if (next.value <= value + 1e-7) return next.value;
    ({ points, value } = next);
  }
}
