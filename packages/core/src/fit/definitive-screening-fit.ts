import { fUpper } from '../distribution/f.ts';
import { tTwoSided } from '../distribution/student-t.ts';
import { zeros } from '../linear/dense.ts';
import { type Powers, termName } from '../term/term.ts';
import { leastSquares } from './least-squares.ts';

/** The two-stage reading of a definitive screening plan, or why there is none. */
export type DefinitiveScreeningFit =
  | {
      readonly kind: 'read';
      /** Of one run. */
      readonly errorSd: number;
      readonly errorDf: number;
      readonly threshold: number;
      readonly mainEffects: readonly {
        readonly name: string;
        readonly estimate: number;
        readonly t: number;
        readonly p: number;
        readonly isActive: boolean;
      }[];
      /** Terms of the second stage, in the order they came in. */
      readonly secondOrder: readonly Powers[];
      /** Intercept, active main effects and what the second stage added. */
      readonly terms: readonly Powers[];
    }
  /** Not folded over with one factor at its centre in every pair: another kind of plan. */
  | { readonly kind: 'another-plan' }
  /** No column is left over in the main-effect space and no centre run is repeated. */
  | { readonly kind: 'no-error-estimate' };

const SAME = 1e-6;

/** Sets of second-order terms looked at exhaustively, per size. */
const MOST_SETS = 20_000;

/** Second-order terms are added until what is left is no longer larger than error at this level. */
const SECOND_STAGE = 0.2;

/**
 * Definitive screening by its own structure. A plan that is folded over splits the data in two: half
 * the difference of each mirrored pair holds the main effects only, half the sum the intercept and
 * the second-order effects only. Differences that the main effects leave over, and repeated centre
 * runs, estimate the error free of any second-order effect. First stage: main effects by t. Second
 * stage: among squares and products of the active factors (both parents active), the best set of
 * each size, until what is left of the sums is not larger than error.
 *
 * @param coded - settings of the runs, shape (n, k) by rows; −1, 0 or 1
 * @param names - of the k factors
 * @source Jones & Nachtsheim (2017), Effective design-based model selection for definitive screening
 *   designs, Technometrics 59:319–329 (from memory)
 */
export function definitiveScreeningFit(
  coded: readonly (readonly number[])[],
  y: Float64Array,
  names: readonly string[],
): DefinitiveScreeningFit {
  const folded = foldedPairs(coded);
  if (!folded) return { kind: 'another-plan' };
  const { pairs, centres } = folded;
  const k = names.length;
  const odd = pairs.map(([a, b]) => (y[a]! - y[b]!) / 2);
  const even = [
    ...pairs.map(([a, b]) => ({ row: coded[a]!, value: (y[a]! + y[b]!) / 2, weight: 2 })),
    ...(centres.length > 0
      ? [
          {
            row: coded[centres[0]!]!,
            value: centres.reduce((sum, i) => sum + y[i]! / centres.length, 0),
            weight: centres.length,
          },
        ]
      : []),
  ];
  const x = zeros(pairs.length, k);
  for (const [i, [a]] of pairs.entries()) x.data.set(coded[a]!, i * k);
  const weights = new Float64Array(pairs.length).fill(2);
  const fit = leastSquares({ x, y: Float64Array.from(odd), weights });
  if (fit.kind === 'aliased') return { kind: 'another-plan' };
  const centreSs = centres.reduce((sum, i) => sum + (y[i]! - even.at(-1)!.value) ** 2, 0);
  const pureDf = Math.max(0, centres.length - 1);
  const errorDf = pairs.length - k + pureDf;
  const errorSs = fit.rss + (pureDf > 0 ? centreSs : 0);
  if (errorDf === 0 || !(errorSs > 0)) return { kind: 'no-error-estimate' };
  const first = Math.sqrt(errorSs / errorDf);
  const threshold = errorDf === 1 ? 0.2 : errorDf === 2 ? 0.1 : 0.05;
  const mainEffects = names.map((name, j) => {
    const estimate = fit.coefficients[j]!;
    const t = estimate / (first * Math.sqrt(fit.unscaledCovariance.data[j * k + j]!));
    const p = tTwoSided(t, errorDf);
    return { name, estimate, t, p, isActive: p < threshold };
  });
  const active = mainEffects.filter(({ isActive }) => isActive).map(({ name }) => name);
  const error = pooledError(fit, mainEffects, { ss: errorSs, df: errorDf });
  const secondOrder = secondStage(even, active, names, error);
  return {
    kind: 'read',
    errorSd: Math.sqrt(error.ss / error.df),
    errorDf: error.df,
    threshold,
    mainEffects,
    secondOrder,
    terms: [{}, ...active.map((name) => ({ [name]: 1 })), ...secondOrder],
  };
}

interface ErrorEstimate {
  readonly ss: number;
  readonly df: number;
}

/** Main effects judged idle are error too: refitted without them, their df join. */
function pooledError(
  fit: Extract<ReturnType<typeof leastSquares>, { coefficients: Float64Array }>,
  mainEffects: readonly { readonly isActive: boolean; readonly t: number }[],
  { ss, df }: ErrorEstimate,
): ErrorEstimate {
  const k = mainEffects.length;
  let pooledSs = ss;
  let pooledDf = df;
  for (const [j, { isActive }] of mainEffects.entries()) {
    if (isActive) continue;
    // Main-effect columns of a conference matrix are orthogonal, so each has a sum of its own.
    pooledSs += fit.coefficients[j]! ** 2 / fit.unscaledCovariance.data[j * k + j]!;
    pooledDf += 1;
  }
  return { ss: pooledSs, df: pooledDf };
}

/** Mirrored pairs, each with one factor at its centre, and centre runs; null when it is otherwise. */
function foldedPairs(coded: readonly (readonly number[])[]) {
  const k = coded[0]?.length ?? 0;
  if (k < 3) return null;
  const isAt = (value: number, level: number): boolean => Math.abs(value - level) < SAME;
  const isScreening = coded.every((row) =>
    row.every((value) => [-1, 0, 1].some((level) => isAt(value, level))),
  );
  if (!isScreening) return null;
  const zerosOf = coded.map((row) => row.filter((value) => isAt(value, 0)).length);
  const centres = [...coded.keys()].filter((i) => zerosOf[i] === k);
  const left = new Set([...coded.keys()].filter((i) => zerosOf[i] !== k));
  const pairs: [number, number][] = [];
  while (left.size > 0) {
    const a = left.values().next().value!;
    left.delete(a);
    const b = [...left].find((i) => coded[i]!.every((value, j) => isAt(value, -coded[a]![j]!)));
    if (b === undefined) return null;
    left.delete(b);
    pairs.push([a, b]);
  }
  // Pairs without a centred factor come from a plan made for more factors than were used.
  const folds = pairs.map(([a]) => zerosOf[a]!);
  const hasOwnZero = Array.from({ length: k }, (_, j) =>
    pairs.some(([a]) => zerosOf[a] === 1 && isAt(coded[a]![j]!, 0)),
  ).every(Boolean);
  return folds.every((count) => count <= 1) && hasOwnZero ? { pairs, centres } : null;
}

interface EvenRow {
  readonly row: readonly number[];
  readonly value: number;
  readonly weight: number;
}

function secondStage(
  even: readonly EvenRow[],
  active: readonly string[],
  names: readonly string[],
  error: ErrorEstimate,
): Powers[] {
  const candidates: Powers[] = active.flatMap((first, i) => [
    { [first]: 2 },
    ...active.slice(i + 1).map((second) => ({ [first]: 1, [second]: 1 })),
  ]);
  const most = Math.min(candidates.length, Math.floor((even.length - 1) / 2) + 1, even.length - 2);
  let chosen: readonly number[] = [];
  for (let size = 0; size <= most; size++) {
    const best = bestOfSize(even, candidates, names, { size, from: chosen });
    if (!best) break;
    chosen = best.set;
    const df = even.length - 1 - size;
    const f = best.rss / df / (error.ss / error.df);
    if (df === 0 || fUpper(f, df, error.df) > SECOND_STAGE) break;
  }
  return chosen
    .map((c) => candidates[c]!)
    .sort((a, b) => order(a, candidates) - order(b, candidates));
}

const order = (powers: Powers, all: readonly Powers[]): number =>
  all.findIndex((other) => termName(other) === termName(powers));

/** The set of a size with the smallest residual; grown from the last best when there are too many. */
function bestOfSize(
  even: readonly EvenRow[],
  candidates: readonly Powers[],
  names: readonly string[],
  { size, from }: { readonly size: number; readonly from: readonly number[] },
): { readonly set: readonly number[]; readonly rss: number } | null {
  let best: { set: readonly number[]; rss: number } | null = null;
  const look = (set: readonly number[]): void => {
    const rss = residual(
      even,
      set.map((c) => candidates[c]!),
      names,
    );
    if (rss !== null && (best === null || rss < best.rss)) best = { set, rss };
  };
  if (combinations(candidates.length, size) <= MOST_SETS) {
    for (const set of subsets(candidates.length, size)) look(set);
  } else {
    for (let c = 0; c < candidates.length; c++) if (!from.includes(c)) look([...from, c]);
  }
  return best;
}

function residual(
  even: readonly EvenRow[],
  terms: readonly Powers[],
  names: readonly string[],
): number | null {
  const p = terms.length + 1;
  const x = zeros(even.length, p);
  for (const [i, { row }] of even.entries()) {
    x.data[i * p] = 1;
    for (const [j, powers] of terms.entries())
      x.data[i * p + j + 1] = Object.entries(powers).reduce(
        (value, [name, power]) => value * row[names.indexOf(name)]! ** Number(power),
        1,
      );
  }
  const fit = leastSquares({
    x,
    y: Float64Array.from(even, ({ value }) => value),
    weights: Float64Array.from(even, ({ weight }) => weight),
  });
  return fit.kind === 'aliased' ? null : fit.rss;
}

function combinations(n: number, size: number): number {
  let count = 1;
  for (let i = 0; i < size; i++) count = (count * (n - i)) / (i + 1);
  return count;
}

function* subsets(n: number, size: number, from = 0): Generator<number[]> {
  if (size === 0) {
    yield [];
    return;
  }
  for (let i = from; i <= n - size; i++)
    for (const rest of subsets(n, size - 1, i + 1)) yield [i, ...rest];
}
