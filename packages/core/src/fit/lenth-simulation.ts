import { standardNormal } from '../random/standard-normal.ts';
import { seededUniform } from '../random/uniform.ts';
import { pseudoStandardError } from './lenth.ts';

/** Critical values of |effect|/PSE when nothing but noise is there. */
export interface LenthCritical {
  /** Exceeded by a share `alpha` of single effects. */
  readonly each: number;
  /** Exceeded by the largest effect in a share `alpha` of studies. */
  readonly largest: number;
  readonly draws: number;
  readonly seed: number;
}

const SEED = 1989;

/**
 * Lenth's t limits are approximate (the pseudo standard error is not a χ): these are simulated, with
 * a seed of their own so that a plan of m effects always meets the same limits.
 *
 * @param m - number of effects, at least 3
 * @accuracy about 1 % of `each`, 2 % of `largest`
 * @source Ye & Hamada (2000), Critical values of the Lenth method for unreplicated factorial designs,
 *   J. Quality Technology 32:57–66 (the idea; the values are simulated here)
 */
export function lenthCritical(m: number, alpha = 0.05): LenthCritical {
  const uniform = seededUniform(SEED, `lenth ${m}`);
  const draws = Math.max(4000, Math.round(240_000 / m));
  const all = new Float64Array(draws * m);
  const largest = new Float64Array(draws);
  const effects = new Float64Array(m);
  for (let draw = 0; draw < draws; draw++) {
    for (let j = 0; j < m; j++) effects[j] = standardNormal(uniform);
    const pse = pseudoStandardError(effects);
    for (let j = 0; j < m; j++) {
      const ratio = Math.abs(effects[j]!) / pse;
      all[draw * m + j] = ratio;
      if (ratio > largest[draw]!) largest[draw] = ratio;
    }
  }
  return { each: upper(all, alpha), largest: upper(largest, alpha), draws, seed: SEED };
}

function upper(values: Float64Array, share: number): number {
  values.sort();
  return values[Math.ceil((1 - share) * values.length) - 1]!;
}
