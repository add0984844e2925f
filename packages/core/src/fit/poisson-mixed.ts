import { logGamma } from '../distribution/gamma-function.ts';
import { normalTwoSided, normalUpperQuantile } from '../distribution/normal.ts';
import { DomainError } from '../error/domain-error.ts';
import { cholesky, choleskyInverse } from '../linear/cholesky.ts';
import type { Dense } from '../linear/dense.ts';
import { describeAliased } from './aliased.ts';
import type { CountCoefficient } from './count-result.ts';
import { type LaplaceMaximum, laplaceMaximum } from './laplace-maximum.ts';
import { type LaplaceData, laplacePoint } from './laplace-poisson.ts';
import { fitLogLinear, orthonormalColumns } from './log-linear.ts';

/** Counts in whole plots that share a rate multiplier exp(u), u normal with mean 0. */
export interface PoissonMixedInput {
  /** Model matrix, shape (n, p). */
  readonly x: Dense;
  /** Whole numbers of at least 0, shape (n). */
  readonly counts: Float64Array;
  /** Shape (n), > 0; 1 everywhere when left out. */
  readonly exposure?: Float64Array;
  /** Whole plot of each row, shape (n). */
  readonly wholePlots: Int32Array;
  readonly names?: readonly string[];
  readonly confidence?: number;
}

export interface PoissonMixedFit {
  readonly kind: 'fitted';
  /** On ln rate at a whole plot of effect 0; normal tests. */
  readonly coefficients: readonly CountCoefficient[];
  readonly covariance: Dense;
  /** Standard deviation of the whole plots on ln rate; exactly 0 when the counts ask for none. */
  readonly wholePlotSd: number;
  /** Of the standard deviation, by curvature; undefined at zero. */
  readonly wholePlotSdError: number | undefined;
  /** Most likely effect of each whole plot on ln rate, in order of appearance. */
  readonly plotEffects: readonly { readonly label: number; readonly effect: number }[];
  /** Expected counts with the plot effects, shape (n). */
  readonly fitted: Float64Array;
  /** By Laplace's approximation. */
  readonly logLikelihood: number;
  readonly dfWholePlots: number;
  readonly remarks: readonly string[];
}

export type PoissonMixedResult =
  | PoissonMixedFit
  | {
      readonly kind: 'one-whole-plot' | 'too-few-whole-plots' | 'all-zero' | 'separated';
      readonly words: string;
    }
  | { readonly kind: 'aliased'; readonly terms: readonly string[]; readonly words: string };

/**
 * Log-linear model of counts with a normal whole-plot effect on the log rate, by maximum
 * likelihood with Laplace's approximation; Newton steps on coefficients and standard deviation
 * together, curvature from differences of exact slopes.
 *
 * @throws {DomainError} `shape_mismatch` when a column has not n entries
 * @accuracy 1e-4 relative against lme4, which is the agreement of its own search
 * @source Breslow & Clayton (1993), JASA 88, 9–25 (from memory); tested against lme4
 */
export function fitPoissonMixed(input: PoissonMixedInput): PoissonMixedResult {
  const { x, counts, wholePlots, confidence = 0.95 } = input;
  checkLengths(input);
  const names = Array.from({ length: x.cols }, (_, j) => input.names?.[j] ?? `term ${j + 1}`);
  const labels = [...new Set(wholePlots)];
  const columns = orthonormalColumns(x);
  if (columns.kind === 'aliased') {
    const terms = columns.involved.map((j) => names[j]!);
    const words = `These runs cannot tell all terms apart: ${describeAliased(columns, names)}.`;
    return { kind: 'aliased', terms, words };
  }
  const refusal = plotsRefusal(counts, labels.length, betweenColumns(x, wholePlots));
  if (refusal !== undefined) return refusal;
  const offset = counts.map((_, i) => Math.log(input.exposure?.[i] ?? 1));
  const plain = fitLogLinear({
    basis: columns.basis,
    counts,
    offset,
    theta: Number.POSITIVE_INFINITY,
  });
  if (!plain.isConverged || plain.mean.some((m, i) => counts[i] === 0 && m < 1e-9)) {
    return {
      kind: 'separated',
      words:
        'Nothing was counted where some terms point, so their estimates run off to infinity. Fit the counts without whole plots to see which.',
    };
  }
  const plots = Int32Array.from(wholePlots, (label) => labels.indexOf(label));
  const data = { basis: columns.basis, counts, offset, plots, plotCount: labels.length };
  const solved = laplaceMaximum(data, plain.coefficients);
  return assemble(
    { names, labels, confidence, dfWholePlots: labels.length - betweenColumns(x, wholePlots) },
    data,
    columns.back,
    solved,
  );
}

function plotsRefusal(
  counts: Float64Array,
  plots: number,
  between: number,
): PoissonMixedResult | undefined {
  if (counts.every((count) => count === 0))
    return { kind: 'all-zero', words: 'Not one event was counted, so no term can be judged.' };
  if (plots === 1) {
    return {
      kind: 'one-whole-plot',
      words:
        'All runs stand in one whole plot, so the variation between whole plots cannot be seen.',
    };
  }
  if (plots <= between) {
    return {
      kind: 'too-few-whole-plots',
      words: `${plots} whole plots leave no df for ${between} terms set once a whole plot. Add replicate whole plots or drop terms.`,
    };
  }
  return undefined;
}

/** Columns constant within every whole plot. */
function betweenColumns({ rows: n, cols: p, data }: Dense, plots: Int32Array): number {
  const first = new Map<number, number>();
  for (let i = 0; i < n; i++) if (!first.has(plots[i]!)) first.set(plots[i]!, i);
  let between = 0;
  for (let j = 0; j < p; j++) {
    let isConstant = true;
    for (let i = 0; i < n && isConstant; i++)
      isConstant = data[i * p + j] === data[first.get(plots[i]!)! * p + j];
    if (isConstant) between++;
  }
  return between;
}

interface Words {
  readonly names: readonly string[];
  readonly labels: readonly number[];
  readonly confidence: number;
  readonly dfWholePlots: number;
}

function assemble(
  words: Words,
  data: LaplaceData,
  back: Dense,
  { at, curvature }: LaplaceMaximum,
): PoissonMixedFit {
  const p = back.rows;
  const k = Math.round(Math.sqrt(curvature.length));
  const factor = cholesky(curvature, k);
  if (factor.kind !== 'factored') throw new Error('the curvature at a maximum is definite');
  const inverse = choleskyInverse(factor.lower, k);
  const covariance = inTerms(inverse, k, back);
  const { logLikelihood, effects, mean } = laplacePoint(data, at);
  const wide = normalUpperQuantile((1 - words.confidence) / 2);
  const coefficients = words.names.map((name, j) => {
    let estimate = 0;
    for (let c = j; c < p; c++) estimate += back.data[j * p + c]! * at[c]!;
    const standardError = Math.sqrt(covariance.data[j * p + j]!);
    const statistic = estimate / standardError;
    return {
      name,
      estimate,
      standardError,
      statistic,
      df: Number.POSITIVE_INFINITY,
      p: normalTwoSided(statistic),
      low: estimate - wide * standardError,
      high: estimate + wide * standardError,
    };
  });
  const remarks = [
    `Tests are normal and take no account of having only ${words.dfWholePlots} df among whole plots: read terms set once a plot with caution.`,
  ];
  if (at[p] === 0)
    remarks.push(
      'The variation between whole plots is estimated as zero, which is common with few plots.',
    );
  return {
    kind: 'fitted',
    coefficients,
    covariance,
    wholePlotSd: at[p]!,
    wholePlotSdError: k > p ? Math.sqrt(inverse[p * k + p]!) : undefined,
    plotEffects: words.labels.map((label, g) => ({ label, effect: effects[g]! })),
    fitted: mean,
    logLikelihood: logLikelihood - data.counts.reduce((sum, y) => sum + logGamma(y + 1), 0),
    dfWholePlots: words.dfWholePlots,
    remarks,
  };
}

function inTerms(c: Float64Array, k: number, back: Dense): Dense {
  const p = back.rows;
  const data = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) {
      let s = 0;
      for (let a = i; a < p; a++)
        for (let b = j; b < p; b++)
          s += back.data[i * p + a]! * c[a * k + b]! * back.data[j * p + b]!;
      data[i * p + j] = s;
    }
  }
  return { rows: p, cols: p, data };
}

function checkLengths({ x, counts, exposure, wholePlots }: PoissonMixedInput): void {
  for (const [what, got] of [
    ['counts', counts.length],
    ['exposures', exposure?.length ?? x.rows],
    ['whole plots', wholePlots.length],
  ] as const) {
    if (got === x.rows) continue;
    throw new DomainError(
      'shape_mismatch',
      `fitPoissonMixed: there must be ${x.rows} ${what}, one a row; got ${got}. Check that all columns come from the same runs.`,
      { what, got, expected: x.rows },
    );
  }
}
