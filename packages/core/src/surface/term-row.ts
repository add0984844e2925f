import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';
import type { Powers } from '../term/term.ts';

/**
 * Writes the values of model terms at settings into `target`, shape (p). Settings are coded, in the
 * order of the factors; a named level by its index.
 */
export type TermRow = (target: Float64Array, settings: Float64Array) => void;

/**
 * Terms turned into flat tables, for many evaluations: term j is the product of the pieces from
 * start[j] to start[j + 1].
 *
 * @param terms - p model terms over `factors`
 */
export function termRow(terms: readonly Powers[], factors: readonly Factor[]): TermRow {
  const pieces = terms.map((powers) =>
    Object.entries(powers).map(([name, power]) => pieceOf(name, power, factors)),
  );
  const flat = pieces.flat();
  const p = terms.length;
  const start = new Int32Array(p + 1);
  for (let j = 0; j < p; j++) start[j + 1] = start[j]! + pieces[j]!.length;
  const at = Int32Array.from(flat, (piece) => piece.at);
  const exponent = Float64Array.from(flat, (piece) => piece.power);
  const level = Int32Array.from(flat, (piece) => piece.level);
  const last = Int32Array.from(flat, (piece) => piece.last);
  return (target, settings) => {
    for (let j = 0; j < p; j++) {
      let value = 1;
      for (let q = start[j]!; q < start[j + 1]!; q++) {
        const setting = settings[at[q]!]!;
        const power = exponent[q]!;
        if (power === 1) value *= setting;
        else if (power === 2) value *= setting * setting;
        else if (power === 0) value *= setting === level[q] ? 1 : setting === last[q] ? -1 : 0;
        else value *= setting ** power;
      }
      target[j] = value;
    }
  };
}

/** A named level is power 0 with its own index and that of the factor's last level. */
function pieceOf(name: string, power: number | string, factors: readonly Factor[]) {
  const at = factors.findIndex((factor) => factor.name === name);
  if (typeof power === 'number') return { at, power, level: -1, last: -1 };
  const factor = factors[at];
  const levels = factor && isNamed(factor) ? factor.levels : [];
  return { at, power: 0, level: levels.indexOf(power), last: levels.length - 1 };
}
