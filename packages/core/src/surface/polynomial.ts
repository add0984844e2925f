import type { Point } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';
import type { Powers } from '../term/term.ts';
import { termRow } from './term-row.ts';

/**
 * A fitted polynomial ready for many evaluations: settings in the order of the factors, coded; a
 * named level by its index.
 */
export type Polynomial = (settings: Float64Array) => number;

/**
 * Turns terms and coefficients into a function of the settings: Σ b·term.
 *
 * @param terms - p model terms over `factors`
 * @param coefficients - shape (p); unit of the (possibly transformed) response
 */
export function polynomial(
  terms: readonly Powers[],
  coefficients: Float64Array,
  factors: readonly Factor[],
): Polynomial {
  const rowInto = termRow(terms, factors);
  const row = new Float64Array(terms.length);
  return (settings) => {
    rowInto(row, settings);
    let sum = 0;
    for (let j = 0; j < row.length; j++) sum += coefficients[j]! * row[j]!;
    return sum;
  };
}

/** A coded point as settings in the order of the factors; see `Polynomial`. */
export function settingsOf(coded: Point, factors: readonly Factor[]): Float64Array {
  return Float64Array.from(factors, (factor) => {
    const value = coded[factor.name];
    return isNamed(factor) ? factor.levels.indexOf(String(value)) : Number(value);
  });
}

/** Settings as a coded point; the inverse of `settingsOf`. */
export function pointFromSettings(settings: Float64Array, factors: readonly Factor[]): Point {
  const out: Record<string, number | string> = {};
  for (const [i, factor] of factors.entries())
    out[factor.name] = isNamed(factor) ? factor.levels[settings[i]!]! : settings[i]!;
  return out;
}
