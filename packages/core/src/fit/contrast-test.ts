import { fUpper } from '../distribution/f.ts';
import { DomainError } from '../error/domain-error.ts';
import { cholesky, choleskyInverse } from '../linear/cholesky.ts';
import type { Dense } from '../linear/dense.ts';
import { qrFactor } from '../linear/qr.ts';
import { times } from './covariance-view.ts';
import type { SplitPlotFit, SplitPlotInference } from './split-plot-result.ts';

/** Test of one or more combinations of the terms being zero (or other given values) at once. */
export interface ContrastTest {
  /** Rank of the combinations. */
  readonly ndf: number;
  readonly ddf: number;
  /** Scaled statistic: F of the textbooks times `scaling`. */
  readonly f: number;
  readonly scaling: number;
  readonly p: number;
}

/**
 * Kenward–Roger F test of L b = 0.
 *
 * @param fit - a fitted split-plot model
 * @param l - combinations of the terms, shape (m, p); dependent rows are left out
 * @throws {DomainError} `shape_mismatch` when l has not p columns
 * @throws {DomainError} `empty_contrast` when l has no row that differs from zero
 * @source Kenward & Roger (1997), Biometrics 53, 983–997, section 3 (from memory; tested against an
 *   independent program)
 */
export function contrastTest(fit: SplitPlotFit, l: Dense): ContrastTest {
  const { inference } = fit;
  const rows = independentRows(l, inference.estimates.length);
  const basisRows = times(rows, rows.length / l.cols, inference.back.data, l.cols);
  const ndf = rows.length / l.cols;
  const plain = wald(rows, basisRows, inference, ndf);
  const { expected, residualDf } = inference;
  if (expected === undefined) {
    return { ndf, ddf: residualDf, f: plain, scaling: 1, p: fUpper(plain, ndf, residualDf) };
  }
  const { a1, a2 } = contrastMoments(basisRows, inference, ndf, expected);
  const { ddf, scaling } = scaledDf(a1, a2, ndf);
  const f = scaling * plain;
  return { ndf, ddf, f, scaling, p: fUpper(f, ndf, ddf) };
}

function independentRows(l: Dense, p: number): Float64Array {
  if (l.cols !== p) {
    throw new DomainError(
      'shape_mismatch',
      `contrastTest: a combination must have one weight a term, ${p}; got ${l.cols}. Give every term a weight, 0 where it takes no part.`,
      { expected: p, got: l.cols },
    );
  }
  const data = new Float64Array(l.rows * p);
  for (let i = 0; i < l.rows; i++)
    for (let j = 0; j < p; j++) data[j * l.rows + i] = l.data[i * p + j]!;
  const factor = qrFactor({ rows: p, cols: l.rows, data });
  if (factor.rank === 0) {
    throw new DomainError(
      'empty_contrast',
      `contrastTest: a combination must differ from zero; got ${l.rows} rows of zeros. Name at least one term.`,
      { rows: l.rows },
    );
  }
  const out = new Float64Array(factor.rank * p);
  for (const [k, i] of factor.kept.entries()) out.set(l.data.subarray(i * p, (i + 1) * p), k * p);
  return out;
}

/** (Lb)ᵀ(L C Lᵀ)⁻¹(Lb) / m with the adjusted covariance. */
function wald(
  rows: Float64Array,
  basisRows: Float64Array,
  { estimates, adjusted, variance }: SplitPlotInference,
  m: number,
): number {
  const p = estimates.length;
  const effect = Float64Array.from({ length: m }, (_, i) => {
    let s = 0;
    for (let j = 0; j < p; j++) s += rows[i * p + j]! * estimates[j]!;
    return s;
  });
  const inverse = inverseForm(basisRows, adjusted, m, p);
  let sum = 0;
  for (let i = 0; i < m; i++)
    for (let j = 0; j < m; j++) sum += effect[i]! * inverse[i * m + j]! * effect[j]!;
  return sum / (variance * m);
}

/** (L C Lᵀ)⁻¹, shape (m, m). */
function inverseForm(rows: Float64Array, c: Float64Array, m: number, p: number): Float64Array {
  const half = times(rows, m, c, p);
  const form = productTransposed(half, rows, m, m, p);
  const factor = cholesky(form, m);
  if (factor.kind !== 'factored') {
    throw new DomainError(
      'dependent_contrast',
      `contrastTest: the combinations must be independent; got a dependent one (row ${factor.pivot}). Leave it out.`,
      { row: factor.pivot },
    );
  }
  return choleskyInverse(factor.lower, m);
}

/** A·Bᵀ, A shape (m, p), B shape (k, p). */
function productTransposed(
  a: Float64Array,
  b: Float64Array,
  m: number,
  k: number,
  p: number,
): Float64Array {
  const out = new Float64Array(m * k);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < k; j++) {
      let s = 0;
      for (let c = 0; c < p; c++) s += a[i * p + c]! * b[j * p + c]!;
      out[i * k + j] = s;
    }
  }
  return out;
}

/** A1 = Σ W_ij tr(ΘΦP_iΦ)tr(ΘΦP_jΦ) and A2 = Σ W_ij tr(ΘΦP_iΦΘΦP_jΦ), signs of P squared away. */
function contrastMoments(
  rows: Float64Array,
  { state }: SplitPlotInference,
  m: number,
  covariance: Float64Array,
) {
  const p = state.data.cols;
  const inverse = inverseForm(rows, state.phi, m, p);
  const half = times(rows, m, state.phi, p);
  const parts: Float64Array[] = [];
  const residual = identity(m);
  for (const [k, { spread }] of state.plots.entries()) {
    const form = productTransposed(times(half, m, spread, p), half, m, m, p);
    const part = times(inverse, m, form, m);
    parts.push(part);
    for (let at = 0; at < part.length; at++) residual[at]! -= state.ratios[k]! * part[at]!;
  }
  parts.unshift(residual);
  const n = parts.length;
  let a1 = 0;
  let a2 = 0;
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      const w = covariance[i * n + j]!;
      a1 += w * trace(parts[i]!, m) * trace(parts[j]!, m);
      a2 += w * traceOfProduct(parts[i]!, parts[j]!, m);
    }
  }
  return { a1, a2 };
}

/** Denominator df and scaling that match mean and variance of the statistic. */
function scaledDf(a1: number, a2: number, m: number): { ddf: number; scaling: number } {
  // With one combination A1 = A2 and the general expressions reduce to this.
  if (m === 1) return { ddf: 2 / a2, scaling: 1 };
  const b = (a1 + 6 * a2) / (2 * m);
  const g = ((m + 1) * a1 - (m + 4) * a2) / ((m + 2) * a2);
  const d = 3 * m + 2 * (1 - g);
  const v0 = 1 + (g / d) * b;
  const v1 = 1 - ((m - g) / d) * b;
  const v2 = 1 - ((m + 2 - g) / d) * b;
  const shrink = 1 - a2 / m;
  // Both vanish together when the variance rests on two df: their quotient is then taken as 1.
  const quotient = Math.abs(shrink) < 1e-10 && Math.abs(v1) < 1e-10 ? 1 : shrink / v1;
  const rho = (quotient * quotient * (Math.abs(v0) < 1e-10 ? 0 : v0)) / v2 / m;
  const ddf = 4 + (m + 2) / (m * rho - 1);
  // With hardly any df the moments cannot be matched; terms of one stratum then have 2m/A2.
  if (!(ddf > 0 && ddf < Number.POSITIVE_INFINITY)) return { ddf: (2 * m) / a2, scaling: 1 };
  const scaling = Math.abs(ddf - 2) < 1e-2 ? 1 : (ddf * shrink) / (ddf - 2);
  return { ddf, scaling };
}

function identity(m: number): Float64Array {
  const out = new Float64Array(m * m);
  for (let i = 0; i < m; i++) out[i * m + i] = 1;
  return out;
}

function trace(a: Float64Array, m: number): number {
  let s = 0;
  for (let i = 0; i < m; i++) s += a[i * m + i]!;
  return s;
}

function traceOfProduct(a: Float64Array, b: Float64Array, m: number): number {
  let s = 0;
  for (let i = 0; i < m; i++) for (let j = 0; j < m; j++) s += a[i * m + j]! * b[j * m + i]!;
  return s;
}
