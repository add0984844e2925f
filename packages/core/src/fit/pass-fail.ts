import { chiSquaredUpper } from '../distribution/chi-squared.ts';
import { normalUpperQuantile } from '../distribution/normal.ts';
import { DomainError } from '../error/domain-error.ts';
import type { Dense } from '../linear/dense.ts';
import { describeAliased } from './aliased.ts';
import { type FirthFit, firthLogistic } from './firth-logistic.ts';
import { type OrthonormalColumns, orthonormalColumns } from './log-linear.ts';
import type { PassFailFit, PassFailInput, PassFailResult } from './pass-fail-result.ts';
import { penalisedProfile, profileLimit, scaledBasis } from './penalised-profile.ts';

/**
 * Logistic model of passing, by penalised likelihood (Firth), with profile intervals: few runs and
 * separated outcomes are the rule on a line, and plain maximum likelihood then has no answer.
 *
 * @throws {DomainError} `shape_mismatch` when passed has not n entries
 * @accuracy estimates to 1e-8, limits to 1e-7 of the term's standard error
 * @source Firth (1993), Biometrika 80, 27–38; Heinze & Schemper (2002), Statistics in Medicine 21,
 *   2409–2419 (both from memory; tested against an independent optimisation)
 */
export function fitPassFail(input: PassFailInput): PassFailResult {
  const { x, passed, confidence = 0.95 } = input;
  if (passed.length !== x.rows) {
    throw new DomainError(
      'shape_mismatch',
      `fitPassFail: there must be ${x.rows} outcomes, one a row; got ${passed.length}. Check that all columns come from the same runs.`,
      { got: passed.length, expected: x.rows },
    );
  }
  const names = Array.from({ length: x.cols }, (_, j) => input.names?.[j] ?? `term ${j + 1}`);
  if (passed.every((value) => value === passed[0])) {
    return oneOutcome(passed[0] ?? true, passed.length, confidence);
  }
  const columns = orthonormalColumns(x);
  if (columns.kind === 'aliased') {
    return {
      kind: 'aliased',
      rank: columns.rank,
      terms: columns.involved.map((j) => names[j]!),
      words: `These runs cannot tell all terms apart: ${describeAliased(columns, names)}.`,
    };
  }
  const y = Uint8Array.from(passed, Number);
  const basis = scaledBasis(columns);
  const fit = firthLogistic(basis.basis, y);
  return assemble({ x, y, names, confidence, tested: input.tested }, basis, fit);
}

function oneOutcome(passed: boolean, runs: number, confidence: number): PassFailResult {
  const upperOther = 1 - (1 - confidence) ** (1 / runs);
  const [all, other] = passed ? ['passed', 'failing'] : ['failed', 'passing'];
  return {
    kind: 'one-outcome',
    passed,
    runs,
    upperOther,
    words: `All ${runs} runs ${all}, so no term can be judged; the probability of ${other} over these settings is below ${Number(upperOther.toPrecision(2))} at ${100 * confidence} % confidence.`,
  };
}

interface Setting {
  readonly x: Dense;
  readonly y: Uint8Array;
  readonly names: readonly string[];
  readonly confidence: number;
  readonly tested: number | undefined;
}

function assemble(setting: Setting, columns: OrthonormalColumns, fit: FirthFit): PassFailFit {
  const { y, names, confidence } = setting;
  const p = names.length;
  const covariance = inTerms(columns.back, fit.inverse);
  const drop = normalUpperQuantile((1 - confidence) / 2) ** 2;
  const coefficients = names.map((name, j) => {
    const standardError = Math.sqrt(covariance.data[j * p + j]!);
    let estimate = 0;
    for (let k = j; k < p; k++) estimate += columns.back.data[j * p + k]! * fit.coefficients[k]!;
    const open = { low: Number.NEGATIVE_INFINITY, high: Number.POSITIVE_INFINITY };
    const { tested } = setting;
    if (tested !== undefined && tested !== j)
      return { name, estimate, standardError, ...open, chiSquared: 0, p: 1 };
    const profile = penalisedProfile(setting.x, setting.y, j, fit.penalised);
    const chiSquared = Math.max(0, profile(0));
    const limit = (stride: number): number => profileLimit(profile, estimate, stride, drop);
    const bounds = tested === j ? open : { low: limit(-standardError), high: limit(standardError) };
    const p1 = chiSquaredUpper(chiSquared, 1);
    return { name, estimate, standardError, ...bounds, chiSquared, p: p1 };
  });
  const isSeparated = separates(fit.probability, y);
  const remarks = isSeparated
    ? [
        'The fitted model separates all passes from all fails: slopes are known to be large, not how large. Lean on the intervals.',
      ]
    : [];
  return {
    kind: 'fitted',
    coefficients,
    covariance,
    fitted: fit.probability,
    // The orthonormal basis changes the penalty by a constant, the determinant of the change.
    penalisedLogLikelihood: fit.penalised - logDeterminant(columns.back),
    confidence,
    isSeparated,
    remarks,
  };
}

function separates(probability: Float64Array, y: Uint8Array): boolean {
  let lowestPass = 1;
  let highestFail = 0;
  for (let i = 0; i < y.length; i++) {
    if (y[i]) lowestPass = Math.min(lowestPass, probability[i]!);
    else highestFail = Math.max(highestFail, probability[i]!);
  }
  return lowestPass > highestFail;
}

function logDeterminant({ rows: p, data }: Dense): number {
  let s = 0;
  for (let j = 0; j < p; j++) s += Math.log(Math.abs(data[j * p + j]!));
  return s;
}

function inTerms({ rows: p, data: back }: Dense, c: Float64Array): Dense {
  const out = new Float64Array(p * p);
  for (let i = 0; i < p; i++)
    for (let j = 0; j < p; j++) {
      let s = 0;
      for (let a = i; a < p; a++)
        for (let b = j; b < p; b++) s += back[i * p + a]! * c[a * p + b]! * back[j * p + b]!;
      out[i * p + j] = s;
    }
  return { rows: p, cols: p, data: out };
}

/** Probability of passing at one point, with an interval that is symmetric on the log odds. */
export interface PassProbability {
  readonly probability: number;
  readonly low: number;
  readonly high: number;
  readonly logOdds: number;
  /** Of the log odds. */
  readonly standardError: number;
}

/**
 * Probability of passing at one point.
 *
 * @param row - model terms at the point, shape (p)
 * @throws {DomainError} `shape_mismatch` when row has not p entries
 */
export function passProbability(fit: PassFailFit, row: ArrayLike<number>): PassProbability {
  const p = fit.coefficients.length;
  if (row.length !== p) {
    throw new DomainError(
      'shape_mismatch',
      `passProbability: the point must have one value a term, ${p}; got ${row.length}. Build it with the model's own terms.`,
      { got: row.length, expected: p },
    );
  }
  let logOdds = 0;
  let variance = 0;
  for (let i = 0; i < p; i++) {
    logOdds += row[i]! * fit.coefficients[i]!.estimate;
    for (let j = 0; j < p; j++) variance += row[i]! * fit.covariance.data[i * p + j]! * row[j]!;
  }
  const standardError = Math.sqrt(Math.max(0, variance));
  const half = normalUpperQuantile((1 - fit.confidence) / 2) * standardError;
  return {
    probability: logistic(logOdds),
    low: logistic(logOdds - half),
    high: logistic(logOdds + half),
    logOdds,
    standardError,
  };
}

function logistic(eta: number): number {
  return 1 / (1 + Math.exp(-eta));
}
