import { gammaQuantile } from '../distribution/gamma.ts';
import { normalQuantile } from '../distribution/normal.ts';
import type { Factor } from '../factor/factor.ts';
import { emptyFit } from '../fit/report/empty-fit.ts';
import { type ResponseSurface, responseSurface } from '../surface/response-surface.ts';
import { type Powers, termName } from '../term/term.ts';

/**
 * The surface of a count of which not one event was seen: one rate for all settings, believed after
 * the invariant prior of a Poisson rate, gamma(½, exposure). Its logarithm is taken as normal through
 * its median and upper 5 % point, as it is the upper side that limits are about. No term can be judged, yet much is known: a hundred metres without a bubble leave
 * little room for one a metre.
 *
 * @accuracy probabilities above 0.9 within 0.01 of the gamma distribution (tests/core/recipe)
 * @param exposure - total length watched, > 0
 * @source Jeffreys's prior of a Poisson mean: Box & Tiao (1973), Bayesian Inference in Statistical
 *   Analysis, section 1.3.4 (from memory)
 */
export function nothingCounted(
  name: string,
  exposure: number,
  factors: readonly Factor[],
): ResponseSurface | null {
  const powers: Powers = {};
  const middle = Math.log(gammaQuantile(0.5, 0.5));
  const upper = Math.log(gammaQuantile(0.95, 0.5));
  const estimate = middle - Math.log(exposure);
  const variance = ((upper - middle) / normalQuantile(0.95)) ** 2;
  const fit = emptyFit({ name, kind: 'count' }, { total: 0, used: 0, failed: [], leftOut: [] }, []);
  const term = {
    name: termName(powers),
    powers,
    estimate,
    standardError: Math.sqrt(variance),
    df: null,
    statistic: null,
    p: null,
    low: null,
    high: null,
  };
  return responseSurface({ ...fit, terms: [term], covariance: [[variance]] }, factors);
}
