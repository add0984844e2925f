import type { Point } from '../factor/coding.ts';
import { type Factor, isNamed } from '../factor/factor.ts';
import type { Powers } from '../term/term.ts';

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
  const parts = terms.map((powers) =>
    Object.entries(powers).map(([name, power]) => {
      const at = factors.findIndex((factor) => factor.name === name);
      if (typeof power === 'number') return { at, power, level: -1, last: -1 };
      const factor = factors[at];
      const levels = factor && isNamed(factor) ? factor.levels : [];
      return { at, power: 0, level: levels.indexOf(power), last: levels.length - 1 };
    }),
  );
  return (settings) => {
    let sum = 0;
    for (let j = 0; j < parts.length; j++) {
      let value = coefficients[j]!;
      for (const { at, power, level, last } of parts[j]!) {
        const setting = settings[at]!;
        if (power === 0) value *= setting === level ? 1 : setting === last ? -1 : 0;
        else if (power === 1) value *= setting;
        else value *= setting ** power;
      }
      sum += value;
    }
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
