import { z } from 'zod';
import type { Design } from '../design/design.ts';
import { designInformation } from '../design/properties/design-information.ts';
import {
  averagePredictionVariance,
  type PredictionRegion,
} from '../design/properties/prediction-variance.ts';
import { cholesky, choleskyLogDeterminant } from '../linear/cholesky.ts';
import { type Model, modelTerms } from '../term/term.ts';

/**
 * Criteria of the asked model by their usual definitions, coded units, every run set anew: C is the
 * inverse of XᵀX (block differences taken out), n the runs, p the terms. All null when the runs cannot
 * tell every term.
 */
export const AskedCriteria = z.strictObject({
  terms: z.int(),
  logDeterminant: z.number().nullable().describe('ln det XᵀX = −ln det C'),
  dEfficiency: z.number().nullable().describe('percent: 100 · det(XᵀX)^(1/p) / n'),
  aEfficiency: z.number().nullable().describe('percent: 100 · p / (n · trace C)'),
  traceOfInverse: z.number().nullable().describe('trace C'),
  averageVariance: z
    .number()
    .nullable()
    .describe('prediction variance over that of a run, averaged over the region'),
});
export type AskedCriteria = z.infer<typeof AskedCriteria>;

/** Criteria of a design for the model that was asked for, whether or not it leaves error df. */
export function askedCriteria(
  { factors, runs }: Design,
  model: Model,
  region: PredictionRegion,
): AskedCriteria {
  const terms = modelTerms(model, factors);
  const p = terms.length;
  const nothing = {
    terms: p,
    logDeterminant: null,
    dEfficiency: null,
    aEfficiency: null,
    traceOfInverse: null,
    averageVariance: null,
  };
  const found = designInformation({ factors, terms, runs });
  if (found.aliased) return nothing;
  const { kept, covariance } = found;
  const own = new Float64Array(p * p);
  for (let i = 0; i < p; i++)
    for (let j = 0; j < p; j++) own[i * p + j] = covariance.data[i * kept.length + j]!;
  const factor = cholesky(own, p);
  if (factor.kind !== 'factored') return nothing;
  const logDeterminant = -choleskyLogDeterminant(factor.lower, p);
  const trace = Array.from({ length: p }, (_, i) => own[i * p + i]!).reduce((a, b) => a + b, 0);
  return {
    terms: p,
    logDeterminant,
    dEfficiency: (100 * Math.exp(logDeterminant / p)) / runs.length,
    aEfficiency: (100 * p) / (runs.length * trace),
    traceOfInverse: trace,
    averageVariance: averagePredictionVariance(found, region).value,
  };
}
