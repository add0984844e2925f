import type { ResponseFit } from '../fit/report/fit-result.ts';
import { cholesky } from '../linear/cholesky.ts';
import type { FittedRows } from './fitted-rows.ts';

/** How the set-up to set-up scatter of responses goes together. */
export interface ResidualCorrelation {
  readonly names: readonly string[];
  /** Shrunk estimates, positive definite, shape (k, k), row-major. */
  readonly matrix: Float64Array;
  /** Lower Cholesky factor of `matrix`. */
  readonly lower: Float64Array;
  readonly pairs: readonly CorrelatedPair[];
}

export interface CorrelatedPair {
  readonly names: readonly [string, string];
  /** As the residuals give it. */
  readonly raw: number;
  /** Drawn towards zero by its own uncertainty. */
  readonly used: number;
  /** Runs in which both were measured. */
  readonly runs: number;
}

/** One response's residuals from its surface, on the scale of its model, by row of the table. */
export interface ResponseResiduals {
  readonly name: string;
  readonly byRow: ReadonlyMap<number, number>;
  /** Terms of the model, which cost degrees of freedom. */
  readonly terms: number;
}

/**
 * Residuals of a fit about its terms, plot effects left in: a set-up's whole scatter. Those of a rate
 * of counts are ln((y + ½)/(μ + ½)).
 */
export function responseResiduals(fit: ResponseFit, rows: FittedRows): ResponseResiduals {
  const { x, y, exposure } = rows;
  const byRow = new Map<number, number>();
  for (const [i, row] of rows.rows.entries()) {
    let mean = 0;
    for (const [j, { estimate }] of fit.terms.entries()) mean += x.data[i * x.cols + j]! * estimate;
    const value =
      fit.scale === 'ln rate'
        ? Math.log((y[i]! + 0.5) / (Math.exp(mean) * (exposure?.[i] ?? 1) + 0.5))
        : y[i]! - mean;
    byRow.set(row, value);
  }
  return { name: fit.name, byRow, terms: fit.terms.length };
}

/** Responses taken as independent. */
export function noCorrelation(names: readonly string[]): ResidualCorrelation {
  const k = names.length;
  const matrix = new Float64Array(k * k);
  for (let i = 0; i < k; i++) matrix[i * k + i] = 1;
  return { names, matrix, lower: matrix.slice(), pairs: [] };
}

/**
 * Correlation of responses from the runs in which both were measured.
 *
 * A correlation of few residuals is mostly noise, so each is drawn towards zero by the share that its
 * own variance, about (1 − r²)²/(df − 1), has in its square. Should the matrix not be definite then,
 * all are drawn in together until it is.
 *
 * @source shrinkage by the share of estimation variance: Schäfer & Strimmer (2005), Statistical
 *   Applications in Genetics and Molecular Biology 4:32 (the idea; from memory)
 */
export function residualCorrelation(residuals: readonly ResponseResiduals[]): ResidualCorrelation {
  const k = residuals.length;
  const { matrix } = noCorrelation(residuals.map(({ name }) => name));
  const pairs: CorrelatedPair[] = [];
  for (let i = 0; i < k; i++) {
    for (let j = 0; j < i; j++) {
      const pair = correlatedPair(residuals[i]!, residuals[j]!);
      pairs.push(pair);
      matrix[i * k + j] = pair.used;
      matrix[j * k + i] = pair.used;
    }
  }
  for (;;) {
    const factor = cholesky(matrix, k);
    if (factor.kind === 'factored')
      return { names: residuals.map(({ name }) => name), matrix, lower: factor.lower, pairs };
    for (let i = 0; i < k; i++) for (let j = 0; j < k; j++) if (i !== j) matrix[i * k + j]! *= 0.9;
  }
}

function correlatedPair(a: ResponseResiduals, b: ResponseResiduals): CorrelatedPair {
  let ab = 0;
  let aa = 0;
  let bb = 0;
  let runs = 0;
  for (const [row, x] of a.byRow) {
    const y = b.byRow.get(row);
    if (y === undefined) continue;
    runs++;
    ab += x * y;
    aa += x * x;
    bb += y * y;
  }
  const raw = aa > 0 && bb > 0 ? ab / Math.sqrt(aa * bb) : 0;
  const df = runs - Math.max(a.terms, b.terms);
  const square = raw * raw;
  const noise = df > 1 ? (1 - square) ** 2 / (df - 1) : 1;
  const used = square > 0 ? raw * (square / (square + noise)) : 0;
  return { names: [a.name, b.name], raw, used: Math.max(-0.98, Math.min(0.98, used)), runs };
}
