import { z } from 'zod';
import { type Factor, isNumeric } from '../factor/factor.ts';

/**
 * A model term as powers: `{}` is the intercept, `{ screw: 1, fan: 1 }` an interaction,
 * `{ level: 2 }` a square, `{ nozzle: "3 mm" }` the contrast of one named level (coded to sum to
 * zero against the last level).
 */
export const Powers = z.record(z.string(), z.union([z.int().positive(), z.string()]));
export type Powers = Readonly<z.infer<typeof Powers>>;

export const ModelName = z.enum(['main', 'interactions', 'quadratic']);
export type ModelName = z.infer<typeof ModelName>;

/** A model picked by name, or term by term. */
export const Model = z.union([ModelName, z.strictObject({ terms: z.array(Powers).min(1) })]);
export type Model = z.infer<typeof Model>;

export const intercept: Powers = {};

/** Words for a term: "intercept", "level", "screw × fan", "level²", "nozzle [3 mm]". */
export function termName(powers: Powers): string {
  const parts = Object.entries(powers).map(([factor, power]) => {
    if (typeof power === 'string') return `${factor} [${power}]`;
    return power === 1 ? factor : `${factor}${superscript(power)}`;
  });
  return parts.length === 0 ? 'intercept' : parts.join(' × ');
}

const superscriptDigits = '⁰¹²³⁴⁵⁶⁷⁸⁹';
const superscript = (n: number): string =>
  [...String(n)].map((digit) => superscriptDigits[Number(digit)]).join('');

/** A key under which two spellings of one term meet: factors sorted, powers beside them. */
export function termKey(powers: Powers): string {
  return Object.entries(powers)
    .map(([factor, power]) => `${JSON.stringify(factor)}:${JSON.stringify(power)}`)
    .sort()
    .join(',');
}

/** Sum of the powers; a named level counts one. */
export function termOrder(powers: Powers): number {
  let order = 0;
  for (const power of Object.values(powers)) order += typeof power === 'number' ? power : 1;
  return order;
}

/** The one-factor pieces a factor brings to a main-effects model: one, or one per level but the last. */
export function mainTerms(factor: Factor): Powers[] {
  if (isNumeric(factor)) return [{ [factor.name]: 1 }];
  return factor.levels.slice(0, -1).map((level) => ({ [factor.name]: level }));
}

/**
 * Terms of a named model, intercept first, then main effects, two-factor interactions, squares
 * (numeric factors only), in the order of the factors. A term list gains the intercept when it
 * lacks one: plans and studies always have it; `statedTerms` takes a list as it stands.
 */
export function modelTerms(model: Model, factors: readonly Factor[]): Powers[] {
  if (typeof model === 'object')
    return hasIntercept(model) ? [...model.terms] : [intercept, ...model.terms];
  const terms: Powers[] = [intercept, ...factors.flatMap(mainTerms)];
  if (model === 'main') return terms;
  for (const [i, first] of factors.entries()) {
    for (const second of factors.slice(i + 1)) {
      for (const a of mainTerms(first))
        for (const b of mainTerms(second)) terms.push({ ...a, ...b });
    }
  }
  if (model === 'interactions') return terms;
  for (const factor of factors) if (isNumeric(factor)) terms.push({ [factor.name]: 2 });
  return terms;
}

/** False for a list of terms without `{}`. */
export const hasIntercept = (model: Model): boolean =>
  typeof model === 'string' || model.terms.some((powers) => Object.keys(powers).length === 0);

/** Terms of a model as it is stated: a list of terms without `{}` has no intercept. */
export const statedTerms = (model: Model, factors: readonly Factor[]): Powers[] =>
  hasIntercept(model) ? modelTerms(model, factors) : modelTerms(model, factors).slice(1);

/** True when every term obtained by lowering one power is also in the model (hierarchy). */
export function isHierarchical(terms: readonly Powers[]): boolean {
  const present = new Set(terms.map(termKey));
  return terms.every((powers) =>
    parentTerms(powers).every((parent) => present.has(termKey(parent))),
  );
}

/** The terms just below `powers` in the hierarchy: each numeric power lowered by one, each level removed. */
export function parentTerms(powers: Powers): Powers[] {
  return Object.entries(powers).map(([name, power]) => {
    const parent: Record<string, number | string> = { ...powers };
    if (typeof power === 'number' && power > 1) parent[name] = power - 1;
    else delete parent[name];
    return parent;
  });
}
