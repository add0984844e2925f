import {
  type Factor,
  type FactorEffect,
  factorEffects,
  type InteractionEffect,
  interactionEffects,
  type NamedEffect,
  namedEffects,
  type ResponseSurface,
  varianceShares,
} from '@strandwise/core';
import type { PagedResponse, PagedStudy } from './paged-study.ts';

/** Everything that the effects of one response are told and drawn from. */
export interface ResponseEffects {
  readonly response: PagedResponse;
  readonly surface: ResponseSurface;
  readonly factors: readonly Factor[];
  /** Numeric factors of the model, largest hand in the response first. */
  readonly alone: readonly FactorEffect[];
  readonly pairs: readonly InteractionEffect[];
  readonly named: readonly NamedEffect[];
  /** Factors that the model does without. */
  readonly idle: readonly string[];
}

/** The effects of a response; null without a surface. */
export function responseEffects(
  { state }: PagedStudy,
  response: PagedResponse,
): ResponseEffects | null {
  const { surface } = response;
  if (!surface) return null;
  const { factors, seed } = state.opened;
  const used = new Set(surface.terms.flatMap((powers) => Object.keys(powers)));
  const { shares } = varianceShares({ surface, factors, seed });
  const place = new Map(shares.map(({ factor }, i) => [factor, i]));
  return {
    response,
    surface,
    factors,
    alone: factorEffects(surface, factors, { aim: response.response.goal?.aim, seed })
      .filter(({ factor }) => used.has(factor))
      .sort((a, b) => place.get(a.factor)! - place.get(b.factor)!),
    pairs: interactionEffects(surface, factors),
    named: namedEffects(surface, factors),
    idle: factors.map(({ name }) => name).filter((name) => !used.has(name)),
  };
}
