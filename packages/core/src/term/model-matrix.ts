import type { Point } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { type Dense, zeros } from '../linear/dense.ts';
import type { Powers } from './term.ts';
import { termValue } from './term-value.ts';

/**
 * Model matrix: one row a run, one column a term, in coded units.
 *
 * @param terms - p model terms
 * @param coded - n coded points
 * @returns shape (n, p), dimensionless
 * @source ISO 3534-3:2013, 3.2.24 (design matrix)
 */
export function modelMatrix(
  terms: readonly Powers[],
  coded: readonly Point[],
  factors: readonly Factor[],
): Dense {
  const x = zeros(coded.length, terms.length);
  for (const [i, point] of coded.entries()) {
    for (const [j, powers] of terms.entries()) {
      x.data[i * terms.length + j] = termValue(powers, point, factors);
    }
  }
  return x;
}
