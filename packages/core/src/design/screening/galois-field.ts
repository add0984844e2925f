import { DomainError } from '../../error/domain-error.ts';

/**
 * What the constructions of Paley need of a finite field of q = p^e elements: which differences are
 * squares. Elements are numbered 0..q − 1 by their digits in base p, lowest power first.
 */
export interface QuadraticCharacter {
  readonly order: number;
  /** χ(a − b): 0 when equal, +1 for a non-zero square, −1 otherwise, shape (q, q), row-major. */
  readonly ofDifference: Int8Array;
}

/**
 * Quadratic character of the field of odd order q, for e up to 3.
 * @throws {DomainError} `not_prime_power` when no such field exists
 */
export function quadraticCharacter(q: number): QuadraticCharacter {
  const { prime, exponent } = primePower(q);
  const modulus = irreducible(prime, exponent);
  const digits = Array.from({ length: q }, (_, a) => digitsOf(a, prime, exponent));
  const chi = new Int8Array(q).fill(-1);
  chi[0] = 0;
  for (let a = 1; a < q; a++)
    chi[numberOf(product(digits[a]!, digits[a]!, modulus, prime), prime)] = 1;
  const ofDifference = new Int8Array(q * q);
  for (let a = 0; a < q; a++) {
    for (let b = 0; b < q; b++) {
      const difference = digits[a]!.map((digit, i) => (digit - digits[b]![i]! + prime) % prime);
      ofDifference[a * q + b] = chi[numberOf(difference, prime)]!;
    }
  }
  return { order: q, ofDifference };
}

function primePower(q: number): { readonly prime: number; readonly exponent: number } {
  let prime = 3;
  while (prime < q && q % prime !== 0) prime += 2;
  let exponent = 0;
  let rest = q;
  while (rest % prime === 0 && rest > 1) {
    rest /= prime;
    exponent++;
  }
  if (q >= 3 && q % 2 === 1 && rest === 1 && exponent <= 3) return { prime, exponent };
  throw new DomainError(
    'not_prime_power',
    `quadraticCharacter: q must be an odd prime to a power of 1, 2 or 3; got ${q}. Use another construction.`,
    { q },
  );
}

/**
 * Lower coefficients of a monic polynomial of this degree with no root; for degrees 2 and 3 that
 * makes it irreducible. Degree 1 needs none: arithmetic is modulo p.
 */
function irreducible(prime: number, degree: number): number[] {
  if (degree === 1) return [0];
  for (let code = 1; code < prime ** degree; code++) {
    const low = digitsOf(code, prime, degree);
    const hasRoot = Array.from({ length: prime }, (_, x) =>
      low.reduce((sum, coefficient, i) => sum + coefficient * x ** i, x ** degree),
    ).some((value) => value % prime === 0);
    if (!hasRoot) return low;
  }
  return [];
}

function digitsOf(value: number, prime: number, length: number): number[] {
  return Array.from({ length }, (_, i) => Math.floor(value / prime ** i) % prime);
}

function numberOf(digits: readonly number[], prime: number): number {
  return digits.reduce((sum, digit, i) => sum + digit * prime ** i, 0);
}

/** Product of two polynomials, reduced by x^e = −(lower part of the modulus). */
function product(
  a: readonly number[],
  b: readonly number[],
  modulus: readonly number[],
  prime: number,
): number[] {
  const degree = a.length;
  const out = new Array<number>(2 * degree - 1).fill(0);
  for (let i = 0; i < degree; i++) {
    for (let j = 0; j < degree; j++) out[i + j] = (out[i + j]! + a[i]! * b[j]!) % prime;
  }
  for (let top = out.length - 1; top >= degree; top--) {
    const lead = out[top]!;
    for (let i = 0; i < degree; i++) {
      const at = top - degree + i;
      out[at] = (((out[at]! - lead * modulus[i]!) % prime) + prime) % prime;
    }
  }
  return out.slice(0, degree);
}
