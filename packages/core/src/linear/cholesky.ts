import { DomainError } from '../error/domain-error.ts';

/** A pivot below this share of its own diagonal is lost to rounding: the matrix is not definite. */
const PIVOT_TOLERANCE = 1e-14;

/** Outcome of a Cholesky factorisation A = LLᵀ. */
export type Cholesky =
  | { readonly kind: 'factored'; readonly lower: Float64Array; readonly size: number }
  | { readonly kind: 'not-positive-definite'; readonly pivot: number };

/**
 * Cholesky factor A = LLᵀ of a symmetric positive definite matrix.
 *
 * @param a - symmetric matrix, shape (n, n), row-major; only its lower triangle is read
 * @param n - its order
 * @returns the lower factor, its upper triangle zero; or the first pivot that is not positive
 * @throws {DomainError} `shape_mismatch` when a.length is not n²
 * @source Golub & Van Loan (2013), Matrix Computations, 4th ed., §4.2 (from memory)
 */
export function cholesky(a: Float64Array, n: number): Cholesky {
  if (a.length !== n * n) {
    throw new DomainError(
      'shape_mismatch',
      `cholesky: the matrix must have ${n}² entries; got ${a.length} (row-major). Pass a square matrix and its order.`,
      { got: a.length, expected: n * n },
    );
  }
  const lower = a.slice();
  const pivot = choleskyInto(lower, n);
  if (pivot >= 0) return { kind: 'not-positive-definite', pivot };
  for (let i = 0; i < n; i++) lower.fill(0, i * n + i + 1, (i + 1) * n);
  return { kind: 'factored', lower, size: n };
}

/**
 * Overwrites the lower triangle of `a` with its Cholesky factor; the upper triangle is left alone.
 *
 * @param a - symmetric matrix, shape (n, n), row-major; overwritten
 * @returns −1 when factored, else the first pivot that is not positive (a is then half overwritten)
 */
export function choleskyInto(a: Float64Array, n: number): number {
  for (let i = 0; i < n; i++) {
    const ri = i * n;
    for (let j = 0; j < i; j++) {
      const rj = j * n;
      let s = a[ri + j]!;
      for (let k = 0; k < j; k++) s -= a[ri + k]! * a[rj + k]!;
      a[ri + j] = s / a[rj + j]!;
    }
    const diagonal = a[ri + i]!;
    let s = diagonal;
    for (let k = 0; k < i; k++) s -= a[ri + k]! * a[ri + k]!;
    if (!(s > PIVOT_TOLERANCE * diagonal)) return i;
    a[ri + i] = Math.sqrt(s);
  }
  return -1;
}

/** Solves Lz = b in place. `lower` shape (n, n), `b` shape (n). */
export function forwardSolveInto(b: Float64Array, lower: Float64Array, n: number): void {
  for (let i = 0; i < n; i++) {
    let s = b[i]!;
    for (let k = 0; k < i; k++) s -= lower[i * n + k]! * b[k]!;
    b[i] = s / lower[i * n + i]!;
  }
}

/** Solves Lᵀz = b in place. `lower` shape (n, n), `b` shape (n). */
export function backSolveInto(b: Float64Array, lower: Float64Array, n: number): void {
  for (let i = n - 1; i >= 0; i--) {
    const z = b[i]! / lower[i * n + i]!;
    b[i] = z;
    for (let k = 0; k < i; k++) b[k]! -= lower[i * n + k]! * z;
  }
}

/**
 * Solution of LLᵀz = b.
 *
 * @param lower - Cholesky factor, shape (n, n)
 * @param b - right-hand side, shape (n)
 * @returns z, shape (n)
 */
export function choleskySolve(lower: Float64Array, n: number, b: Float64Array): Float64Array {
  const z = b.slice();
  forwardSolveInto(z, lower, n);
  backSolveInto(z, lower, n);
  return z;
}

/**
 * Inverse of LLᵀ, by inverting L in place and forming L⁻ᵀL⁻¹.
 *
 * @param lower - Cholesky factor, shape (n, n)
 * @returns the full symmetric inverse, shape (n, n), row-major
 */
export function choleskyInverse(lower: Float64Array, n: number): Float64Array {
  const inv = inverseOfLower(lower, n);
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let s = 0;
      for (let k = i; k < n; k++) s += inv[k * n + i]! * inv[k * n + j]!;
      out[i * n + j] = s;
      out[j * n + i] = s;
    }
  }
  return out;
}

function inverseOfLower(lower: Float64Array, n: number): Float64Array {
  const inv = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    const pivot = 1 / lower[i * n + i]!;
    inv[i * n + i] = pivot;
    for (let j = 0; j < i; j++) {
      let s = 0;
      for (let k = j; k < i; k++) s += lower[i * n + k]! * inv[k * n + j]!;
      inv[i * n + j] = -s * pivot;
    }
  }
  return inv;
}

/** ln det(LLᵀ) = 2·Σ ln Lᵢᵢ. */
export function choleskyLogDeterminant(lower: Float64Array, n: number): number {
  let s = 0;
  for (let i = 0; i < n; i++) s += Math.log(lower[i * n + i]!);
  return 2 * s;
}
