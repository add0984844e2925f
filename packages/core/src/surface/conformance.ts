import { normalLower } from '../distribution/normal.ts';
import { tLower } from '../distribution/student-t.ts';
import { meanVariance, onScale, type ResponseSurface } from './response-surface.ts';

/** A limit that a spool must keep, in the response's own unit. */
export interface Requirement {
  readonly response: string;
  readonly atMost?: number;
  readonly atLeast?: number;
  readonly says: string;
}

/** A requirement with the surface that judges it. */
export interface JudgedRequirement {
  readonly requirement: Requirement;
  readonly surface: ResponseSurface;
}

/**
 * Probability that one new set-up keeps a requirement, from the predictive t distribution of its
 * surface: mean and its uncertainty, and the variation from set-up to set-up.
 *
 * @param settings - coded, in the order of the factors
 * @returns 0 to 1; null when nothing can judge it
 */
export function keepingProbability(
  { requirement, surface }: JudgedRequirement,
  settings: Float64Array,
): number | null {
  const variance = meanVariance(surface, settings);
  if (variance === null) return null;
  const mean = surface.mean(settings);
  const sd = Math.sqrt(variance + surface.noiseVariance);
  const below = (limit: number): number => {
    const scaled = (onScale(surface, limit) - mean) / sd;
    if (sd === 0) return mean <= onScale(surface, limit) ? 1 : 0;
    return Number.isFinite(surface.df) ? tLower(scaled, surface.df) : normalLower(scaled);
  };
  const high = requirement.atMost === undefined ? 1 : below(requirement.atMost);
  const low = requirement.atLeast === undefined ? 0 : below(requirement.atLeast);
  return Math.max(0, high - low);
}

/**
 * Probability that a spool conforms: that every requirement is kept and a strand forms. Responses
 * are taken as independent given the surfaces.
 *
 * @param strandForms - probability that a strand forms at the settings
 * @returns 0 to 1; null when some requirement cannot be judged
 */
export function conformingProbability(
  judged: readonly JudgedRequirement[],
  strandForms: (settings: Float64Array) => number,
  settings: Float64Array,
): number | null {
  let probability = strandForms(settings);
  for (const each of judged) {
    const keeping = keepingProbability(each, settings);
    if (keeping === null) return null;
    probability *= keeping;
  }
  return probability;
}
