import { normalTwoSided, normalUpperQuantile } from '../distribution/normal.ts';
import { tTwoSided, tUpperQuantile } from '../distribution/student-t.ts';
import { DomainError } from '../error/domain-error.ts';
import type { Dense } from '../linear/dense.ts';
import { describeAliased } from './aliased.ts';
import { countDropTests } from './count-drop-test.ts';
import { type FamilyChoice, familyChoice } from './count-family.ts';
import type { CountCoefficient, CountFit, CountInput, CountResult } from './count-result.ts';
import {
  fitLogLinear,
  type LogLinearFit,
  type OrthonormalColumns,
  orthonormalColumns,
  unitDeviance,
} from './log-linear.ts';
import { countLogLikelihood } from './negative-binomial.ts';

const POISSON = Number.POSITIVE_INFINITY;

/**
 * Log-linear model of counts per exposure (bubbles a metre): Poisson, quasi-Poisson or negative
 * binomial, or the one the data ask for.
 *
 * Automatic: Poisson unless Pearson χ²/df exceeds 1.5; then see `familyChoice`.
 *
 * @returns the fit; or `all-zero` with an upper limit of the rate, `separated` when terms run off
 *   to infinity because nothing was counted where they point, `aliased`
 * @throws {DomainError} `shape_mismatch`, `bad_count`, `bad_exposure`, `bad_confidence`
 * @accuracy 1e-8 relative, tested against R on published tables
 * @source McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., chapter 6 (from memory)
 */
export function fitCounts(input: CountInput): CountResult {
  checkCounts(input);
  const { x, counts, exposure, confidence = 0.95 } = input;
  const names = Array.from({ length: x.cols }, (_, j) => input.names?.[j] ?? `term ${j + 1}`);
  const offset = counts.map((_, i) => Math.log(exposure?.[i] ?? 1));
  if (counts.every((count) => count === 0)) return allZero(offset, confidence);
  const columns = orthonormalColumns(x);
  if (columns.kind === 'aliased') {
    return {
      kind: 'aliased',
      rank: columns.rank,
      terms: columns.involved.map((j) => names[j]!),
      words: `These runs cannot tell all terms apart: ${describeAliased(columns, names)}.`,
    };
  }
  const data = { basis: columns.basis, counts, offset };
  const poisson = fitLogLinear({ ...data, theta: POISSON });
  const model = { input, names, columns, offset, confidence };
  if (!poisson.isConverged || isRunningOff(poisson, counts)) return separated(model, poisson);
  const choice = familyChoice(input.family, data, poisson);
  return assemble(model, choice);
}

interface Model {
  readonly input: CountInput;
  readonly names: readonly string[];
  readonly columns: OrthonormalColumns;
  readonly offset: Float64Array;
  readonly confidence: number;
}

/** A mean a billionth of a count where none was seen: the estimate is on its way to −infinity. */
function isRunningOff({ mean }: LogLinearFit, counts: Float64Array): boolean {
  return mean.some((value, i) => counts[i] === 0 && value < 1e-9);
}

function allZero(offset: Float64Array, confidence: number): CountResult {
  const exposure = offset.reduce((sum, value) => sum + Math.exp(value), 0);
  const upperRate = -Math.log(1 - confidence) / exposure;
  return {
    kind: 'all-zero',
    exposure,
    confidence,
    upperRate,
    words: `Not one event over an exposure of ${Number(exposure.toPrecision(4))}: the rate is below ${Number(upperRate.toPrecision(3))} per unit at ${100 * confidence} % confidence, and no term can be judged.`,
  };
}

function separated(model: Model, poisson: LogLinearFit): CountResult {
  const { columns, input, offset, names, confidence } = model;
  const firth = fitLogLinear(
    { basis: columns.basis, counts: input.counts, offset, theta: POISSON },
    { isPenalised: true },
  );
  const direction = toTerms(columns, poisson.lastStep);
  const largest = direction.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const terms = names.filter((_, j) => Math.abs(direction[j]!) > 1e-3 * largest);
  return {
    kind: 'separated',
    terms,
    penalised: coefficientsOf({ columns, names, confidence }, firth, 1, POISSON),
    fitted: firth.mean,
    words: `Nothing was counted where ${terms.join(', ')} ${terms.length === 1 ? 'points' : 'point'}, so the best estimate there is a rate of zero and has no standard error. Shown instead are penalised estimates, which stay finite.`,
  };
}

function assemble(model: Model, choice: FamilyChoice): CountFit {
  const { input, columns, offset } = model;
  const { fit, theta, family, dispersion } = choice;
  const { counts } = input;
  const n = counts.length;
  const p = columns.basis.cols;
  const likelihood =
    family === 'quasi-poisson' ? undefined : countLogLikelihood(counts, fit.mean, theta);
  const df = family === 'quasi-poisson' ? n - p : POISSON;
  const nothing = nullModel(columns, counts, offset, theta);
  return {
    kind: 'fitted',
    family,
    reason: choice.reason,
    coefficients: coefficientsOf(model, fit, dispersion, df),
    covariance: covarianceOf(columns, fit.inverse, dispersion),
    fitted: fit.mean,
    leverages: fit.leverages,
    devianceResiduals: counts.map(
      (y, i) => Math.sign(y - fit.mean[i]!) * Math.sqrt(unitDeviance(y, fit.mean[i]!, theta)),
    ),
    pearsonResiduals: choice.pearsonResiduals,
    deviance: fit.deviance,
    nullDeviance: nothing.deviance,
    pearson: choice.pearson,
    dispersion,
    dfResidual: n - p,
    dfNull: nothing.df,
    logLikelihood: likelihood,
    aic:
      likelihood === undefined
        ? undefined
        : -2 * likelihood + 2 * (p + (family === 'negative-binomial' ? 1 : 0)),
    size: choice.sizeError === undefined ? undefined : { theta, standardError: choice.sizeError },
    dropTests: countDropTests(input, model.names, offset, choice),
    remarks: choice.remarks,
  };
}

function toTerms({ back }: OrthonormalColumns, b: Float64Array): Float64Array {
  const p = back.rows;
  const out = new Float64Array(p);
  for (let j = 0; j < p; j++) for (let k = j; k < p; k++) out[j]! += back.data[j * p + k]! * b[k]!;
  return out;
}

function covarianceOf({ back }: OrthonormalColumns, c: Float64Array, dispersion: number): Dense {
  const p = back.rows;
  const data = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) {
      let s = 0;
      for (let k = i; k < p; k++) {
        let row = 0;
        for (let l = j; l < p; l++) row += c[k * p + l]! * back.data[j * p + l]!;
        s += back.data[i * p + k]! * row;
      }
      data[i * p + j] = dispersion * s;
    }
  }
  return { rows: p, cols: p, data };
}

function coefficientsOf(
  { columns, names, confidence }: Pick<Model, 'columns' | 'names' | 'confidence'>,
  fit: LogLinearFit,
  dispersion: number,
  df: number,
): CountCoefficient[] {
  const estimates = toTerms(columns, fit.coefficients);
  const covariance = covarianceOf(columns, fit.inverse, dispersion);
  const tail = (1 - confidence) / 2;
  const isNormal = df === Number.POSITIVE_INFINITY;
  const wide = isNormal ? normalUpperQuantile(tail) : tUpperQuantile(tail, df);
  return Array.from(estimates, (estimate, j) => {
    const standardError = Math.sqrt(covariance.data[j * estimates.length + j]!);
    const statistic = estimate / standardError;
    return {
      name: names[j]!,
      estimate,
      standardError,
      statistic,
      df,
      p: isNormal ? normalTwoSided(statistic) : tTwoSided(statistic, df),
      low: estimate - wide * standardError,
      high: estimate + wide * standardError,
    };
  });
}

/** One common rate when the columns contain a constant, else the exposures themselves. */
function nullModel(
  { basis }: OrthonormalColumns,
  counts: Float64Array,
  offset: Float64Array,
  theta: number,
) {
  const { rows: n, cols: p, data: q } = basis;
  let left = n;
  for (let j = 0; j < p; j++) {
    let s = 0;
    for (let i = 0; i < n; i++) s += q[i * p + j]!;
    left -= s * s;
  }
  if (left > 1e-10 * n) {
    let deviance = 0;
    for (let i = 0; i < n; i++) deviance += unitDeviance(counts[i]!, Math.exp(offset[i]!), theta);
    return { deviance, df: n };
  }
  const constant = { rows: n, cols: 1, data: new Float64Array(n).fill(1 / Math.sqrt(n)) };
  return { deviance: fitLogLinear({ basis: constant, counts, offset, theta }).deviance, df: n - 1 };
}

function checkCounts({ x, counts, exposure, confidence = 0.95 }: CountInput): void {
  for (const [what, got] of [
    ['counts', counts.length],
    ['exposures', exposure?.length ?? x.rows],
  ] as const) {
    if (got !== x.rows) {
      throw new DomainError(
        'shape_mismatch',
        `fitCounts: there must be ${x.rows} ${what}, one a row; got ${got}. Check that all columns come from the same runs.`,
        { what, got, expected: x.rows },
      );
    }
  }
  for (const [i, count] of counts.entries()) {
    if (!(Number.isInteger(count) && count >= 0)) {
      throw new DomainError(
        'bad_count',
        `fitCounts: a count must be a whole number of at least 0; got ${count} (row ${i}). Give the count itself, with the length watched as exposure.`,
        { row: i, got: count },
      );
    }
  }
  for (const [i, value] of exposure?.entries() ?? []) {
    if (!(value > 0 && Number.isFinite(value))) {
      throw new DomainError(
        'bad_exposure',
        `fitCounts: an exposure must be positive; got ${value} (row ${i}). Leave out runs that were not watched.`,
        { row: i, got: value },
      );
    }
  }
  if (!(confidence > 0 && confidence < 1)) {
    throw new DomainError(
      'bad_confidence',
      `fitCounts: confidence must lie between 0 and 1; got ${confidence}. Use 0.95 for 95 %.`,
      { confidence },
    );
  }
}
