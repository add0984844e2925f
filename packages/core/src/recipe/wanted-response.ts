import type { Goal } from '../spec/spec.ts';
import type { WantedResponse } from '../surface/best-joint-desirability.ts';
import { backOnScale, meanVariance, type ResponseSurface } from '../surface/response-surface.ts';
import type { Predictor } from './predictor.ts';

/** Responses with goals, and the forming of a strand where failures were met. */
export function wantedResponses({ state, surfaces, strand }: Predictor): WantedResponse[] {
  const wanted = state.opened.responses.flatMap(({ name, goal }): WantedResponse[] => {
    const surface = surfaces.find((candidate) => candidate.name === name);
    if (!goal || !surface) return [];
    return [{ name, goal, predict: cautiousValue(surface, goal) }];
  });
  if (wanted.length === 0 || strand.result?.kind !== 'fitted') return wanted;
  const goal: Goal = { aim: 'largest', low: 0.5, target: 0.98 };
  return [...wanted, { name: 'strand forms', goal, predict: strand.probability }];
}

/**
 * A response one standard error to the bad side of its fitted mean. The best of many fitted values
 * is often one that errs on the good side; a place that is well known deserves to win over it.
 */
export function cautiousValue(
  surface: ResponseSurface,
  { aim }: Goal,
): (settings: Float64Array) => number {
  const side = aim === 'smallest' ? 1 : aim === 'largest' ? -1 : 0;
  return (settings) => {
    const error = side === 0 ? 0 : Math.sqrt(meanVariance(surface, settings) ?? 0);
    return backOnScale(surface, surface.mean(settings) + side * error);
  };
}
