import { DomainError } from '../error/domain-error.ts';
import type { Dense } from './dense.ts';

/**
 * Solves R z = b for an upper-triangular R by back substitution.
 *
 * @param r - upper triangular, shape (p, p); what stands below the diagonal is not read
 * @param b - right-hand side, shape (p)
 * @returns z, shape (p)
 * @throws {DomainError} `shape_mismatch` when b has not p entries
 * @throws {DomainError} `singular_factor` when a diagonal entry is 0 or NaN
 * @source Golub & Van Loan (2013), Matrix Computations, 4th ed., §3.1
 */
export function solveUpper(r: Dense, b: Float64Array): Float64Array {
  const p = checked(r, b, 'solveUpper');
  const z = Float64Array.from(b);
  for (let i = p - 1; i >= 0; i--) {
    let sum = z[i]!;
    for (let j = i + 1; j < p; j++) sum -= r.data[i * p + j]! * z[j]!;
    z[i] = sum / r.data[i * p + i]!;
  }
  return z;
}

/** Solves Rᵀ z = b for an upper-triangular R by forward substitution; as `solveUpper` otherwise. */
export function solveUpperTransposed(r: Dense, b: Float64Array): Float64Array {
  const p = checked(r, b, 'solveUpperTransposed');
  const z = Float64Array.from(b);
  for (let i = 0; i < p; i++) {
    const zi = z[i]! / r.data[i * p + i]!;
    z[i] = zi;
    for (let j = i + 1; j < p; j++) z[j]! -= r.data[i * p + j]! * zi;
  }
  return z;
}

/** Solves L z = b for a lower-triangular L by forward substitution; as `solveUpper` otherwise. */
export function solveLower(l: Dense, b: Float64Array): Float64Array {
  const p = checked(l, b, 'solveLower');
  const z = Float64Array.from(b);
  for (let i = 0; i < p; i++) {
    let sum = z[i]!;
    for (let j = 0; j < i; j++) sum -= l.data[i * p + j]! * z[j]!;
    z[i] = sum / l.data[i * p + i]!;
  }
  return z;
}

/** Solves Lᵀ z = b for a lower-triangular L by back substitution; as `solveUpper` otherwise. */
export function solveLowerTransposed(l: Dense, b: Float64Array): Float64Array {
  const p = checked(l, b, 'solveLowerTransposed');
  const z = Float64Array.from(b);
  for (let i = p - 1; i >= 0; i--) {
    const zi = z[i]! / l.data[i * p + i]!;
    z[i] = zi;
    for (let j = 0; j < i; j++) z[j]! -= l.data[i * p + j]! * zi;
  }
  return z;
}

/**
 * Inverse of an upper-triangular matrix, itself upper triangular, shape (p, p).
 *
 * @throws {DomainError} `singular_factor` when a diagonal entry is 0 or NaN
 */
export function upperInverse(r: Dense): Dense {
  const p = checked(r, undefined, 'upperInverse');
  const out = new Float64Array(p * p);
  for (let i = p - 1; i >= 0; i--) {
    const pivot = r.data[i * p + i]!;
    out[i * p + i] = 1 / pivot;
    for (let k = i + 1; k < p; k++) {
      const rik = r.data[i * p + k]! / pivot;
      if (rik === 0) continue;
      for (let j = k; j < p; j++) out[i * p + j]! -= rik * out[k * p + j]!;
    }
  }
  return { rows: p, cols: p, data: out };
}

function checked({ rows, cols, data }: Dense, b: Float64Array | undefined, operation: string) {
  if (rows !== cols || (b !== undefined && b.length !== rows)) {
    throw new DomainError(
      'shape_mismatch',
      `${operation}: the factor must be square and as long as the right-hand side; got ${rows} by ${cols} against ${b?.length ?? rows}. Check the shapes.`,
      { rows, cols, length: b?.length },
    );
  }
  for (let i = 0; i < rows; i++) {
    const pivot = data[i * rows + i]!;
    if (pivot === 0 || Number.isNaN(pivot)) {
      throw new DomainError(
        'singular_factor',
        `${operation}: every diagonal entry must differ from zero; got ${pivot} (position ${i}). Drop the aliased columns first.`,
        { position: i },
      );
    }
  }
  return rows;
}
