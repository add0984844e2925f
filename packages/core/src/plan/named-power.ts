import type { VarianceRatios } from '../design/correlated-plots.ts';
import type { Design } from '../design/design.ts';
import { dfBudget } from '../design/properties/degrees-of-freedom.ts';
import { designInformation } from '../design/properties/design-information.ts';
import { jointPower } from '../design/properties/term-precision.ts';
import { isNamed } from '../factor/factor.ts';
import { type Model, modelTerms, termKey } from '../term/term.ts';
import { type StatedChange, statedEffect, statedSigma } from './stated-change.ts';

/** Chance that the joint F test of a named factor finds the stated change. */
export interface NamedPower {
  readonly factor: string;
  readonly power: number | null;
}

/**
 * Joint F power of every named factor with three levels or more: two of its levels differ by the
 * stated change, the others stand half-way between them (the least noncentrality for that
 * difference), and the pair is the one the plan sees worst.
 *
 * @param spread - SD of a cell's error over that between cells of one setting
 * @source NIST/SEMATECH e-Handbook 7.4.3 (one-way F test); the least favourable spread is common
 *   practice, no source
 */
export function namedPowers(
  design: Design,
  model: Model,
  wish: {
    readonly change: StatedChange;
    readonly varianceRatios: VarianceRatios;
    readonly spread: number;
  },
): NamedPower[] {
  const many = design.factors.filter(isNamed).filter(({ levels }) => levels.length > 2);
  if (many.length === 0) return [];
  const { change, varianceRatios, spread } = wish;
  const terms = modelTerms(model, design.factors);
  const places = new Map(terms.map((powers, column) => [termKey(powers), column]));
  const information = designInformation({ ...design, terms, varianceRatios });
  const budget = dfBudget(information);
  const sigma = statedSigma(change) * spread;
  return many.map(({ name, levels }) => {
    const columns = levels.slice(0, -1).map((level) => places.get(termKey({ [name]: level })));
    const known = columns.filter((column) => column !== undefined);
    if (known.length < levels.length - 1) return { factor: name, power: null };
    // Half the change to either side of the middle: the coefficient of a term from −1 to 1.
    const { coefficient: half, alpha } = statedEffect({ [name]: levels[0]! }, change);
    const powers = pairsOf(levels.length).map(([a, b]) => {
      const coefficients = known.map((_, i) => (i === a ? half : i === b ? -half : 0));
      return jointPower(information, budget, { columns: known, coefficients, sigma, alpha });
    });
    return {
      factor: name,
      power: powers.includes(null) ? null : Math.min(...powers.map(Number)),
    };
  });
}

const pairsOf = (count: number): [number, number][] =>
  Array.from({ length: count }, (_, a) =>
    Array.from({ length: count - a - 1 }, (_, i): [number, number] => [a, a + i + 1]),
  ).flat();
