import { normalLower, normalUpperQuantile } from '../distribution/normal.ts';
import { tLower } from '../distribution/student-t.ts';
import type { Predictor } from '../recipe/predictor.ts';
import { meanVariance, onScale } from '../surface/response-surface.ts';
import type { ShiftEstimate } from './shift-estimate.ts';
import { unshifted } from './shifted-model.ts';

/** A response is worse on the whole when chance explains that this rarely: qualifying anew is dear. */
const worseSignificance = 0.01;

/** True when some response that a spool must keep is worse on the whole, beyond its doubt. */
export function isWorse(
  { judged: requirements }: Predictor,
  { offset, covariance, responses, watched }: ShiftEstimate,
): boolean {
  const p = watched.length + responses.length;
  const z = normalUpperQuantile(worseSignificance);
  return requirements.some(({ requirement, surface }) => {
    const r = responses.indexOf(surface.name);
    if (r < 0) return false;
    const at = watched.length + r;
    const ratio = offset[surface.name]! / Math.sqrt(covariance[at * p + at]!);
    return requirement.atMost !== undefined ? ratio > z : ratio < -z;
  });
}

/**
 * Chance that a new set-up keeps every requirement when the surface has moved as estimated, with the
 * doubt of shift and offset in the mean; responses taken as independent.
 */
export function chanceUnder(
  { judged: requirements, strand }: Predictor,
  settings: Float64Array,
  { shift, offset, covariance, watched, responses }: ShiftEstimate,
): number | null {
  if (requirements.length === 0) return null;
  const formed = unshifted({ scale: 'response' }, settings, shift, watched);
  const p = watched.length + responses.length;
  let chance = strand.probability(formed);
  for (const { requirement, surface } of requirements) {
    const old = unshifted(surface, settings, shift, watched);
    const own = meanVariance(surface, old);
    if (own === null) return null;
    const r = responses.indexOf(surface.name);
    const at = watched.length + r;
    const doubt = r < 0 ? 0 : Math.max(0, covariance[at * p + at]!);
    const mean = surface.mean(old) + (offset[surface.name] ?? 0);
    const sd = Math.sqrt(own + doubt + surface.noiseVariance);
    const below = (limit: number): number => {
      const z = (onScale(surface, limit) - mean) / sd;
      return Number.isFinite(surface.df) ? tLower(z, Math.max(1, surface.df)) : normalLower(z);
    };
    const high = requirement.atMost === undefined ? 1 : below(requirement.atMost);
    const low = requirement.atLeast === undefined ? 0 : below(requirement.atLeast);
    chance *= Math.max(0, high - low);
  }
  return chance;
}
