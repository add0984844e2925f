import { isNumeric } from '../factor/factor-kind.ts';
import { gradedValue, type WantedResponse } from '../surface/best-joint-desirability.ts';
import { keepsLimits, linearLimits } from '../surface/linear-limits.ts';
import { patternSearch } from '../surface/pattern-search.ts';
import type { Predictor } from './predictor.ts';

export interface ConformingPlaceOf {
  readonly responses: readonly WantedResponse[];
  readonly asked: number;
  /** Coded settings to set out from, such as the most desirable ones. */
  readonly from: Float64Array;
}

/** Weights of a missing chance, one after the other: the first still follow what is wished. */
const PENALTIES: readonly number[] = [1, 4, 16, 64, 256];
/** A little above what is asked, so that a finer look at the same place does not fall below it. */
const MARGIN = 0.004;

/**
 * The most desirable settings near `from` that conform with the chance asked: a penalty on the ln
 * odds that are missing, raised step by step, leads from what is wished to what conforms.
 *
 * @returns coded settings, or null when the climb ends where the chance is not reached, or where
 *   some response is useless
 * @source exterior penalty functions: Fiacco & McCormick (1968), Nonlinear Programming (from memory)
 */
export function conformingPlace(
  { state, constraints, draft }: Predictor,
  { responses, asked, from }: ConformingPlaceOf,
): Float64Array | null {
  if (!draft) return null;
  const { factors } = state.opened;
  const limits = linearLimits(factors, constraints);
  const chance = (at: Float64Array): number => draft.at(at).probability;
  const wished = Math.min(1 - MARGIN / 4, asked + MARGIN);
  const value = (at: Float64Array, penalty: number): number => {
    if (!keepsLimits(at, limits)) return Number.NEGATIVE_INFINITY;
    return (
      wish(gradedValue(responses, at)) - penalty * Math.max(0, odds(wished) - odds(chance(at)))
    );
  };
  const axes = directions(factors.map(isNumeric));
  let at = from;
  for (const penalty of PENALTIES)
    at = patternSearch(at, axes, (place) => value(place, penalty)).at;
  return chance(at) >= asked && gradedValue(responses, at) > 0 ? at : null;
}

/** ln of a joint desirability; a place that misses it is ranked by how far. */
const USELESS = Math.log(1e-3);
const wish = (graded: number): number =>
  graded > 0 ? Math.max(USELESS, Math.log(graded)) : USELESS + Math.max(graded, -50);

const odds = (share: number): number => {
  const inside = Math.min(1 - 1e-9, Math.max(1e-9, share));
  return Math.log(inside / (1 - inside));
};

/** Unit steps along each numeric factor and along each pair of them: ridges seldom follow an axis. */
function directions(isFree: readonly boolean[]): Float64Array[] {
  const free = isFree.flatMap((is, i) => (is ? [i] : []));
  const along = (steps: readonly (readonly [number, number])[]): Float64Array => {
    const axis = new Float64Array(isFree.length);
    for (const [i, step] of steps) axis[i] = step;
    return axis;
  };
  return free.flatMap((i, a) => [
    along([[i, 1]]),
    ...free.slice(a + 1).flatMap((j) => [
      along([
        [i, Math.SQRT1_2],
        [j, Math.SQRT1_2],
      ]),
      along([
        [i, Math.SQRT1_2],
        [j, -Math.SQRT1_2],
      ]),
    ]),
  ]);
}
