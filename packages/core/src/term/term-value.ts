import type { Point } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';

// Apart from the schemas, so that what only evaluates terms (a page in a browser) need not carry them.

/** Value of a term at a coded point. A named level is +1 at itself, −1 at the factor's last level, else 0. */
export function termValue(
  powers: Readonly<Record<string, number | string>>,
  coded: Point,
  factors: readonly Factor[],
): number {
  let value = 1;
  for (const [name, power] of Object.entries(powers)) {
    const setting = coded[name];
    if (typeof power === 'number') {
      value *= (setting as number) ** power;
      continue;
    }
    const factor = factors.find((candidate) => candidate.name === name);
    const last = factor && isNamed(factor) ? factor.levels.at(-1) : undefined;
    value *= setting === power ? 1 : setting === last ? -1 : 0;
  }
  return value;
}
