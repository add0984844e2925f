import { DomainError } from '../error/domain-error.ts';
import type { Point } from '../factor/coding.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';
import type { AssessedPlan } from './assess.ts';
import { type CandidateBasis, type PlanGoal, planCandidates } from './candidate.ts';
import type { PlanBudget } from './comparison.ts';
import { confirmationPlan } from './confirmation-plan.ts';
import { type Plan, type PlanRequest, planOf } from './plan.ts';

/** Starts of each search of the adviser; a chosen plan can be searched again with more. */
const USUAL_STARTS = 10;

/** What the adviser may look at: `request` when a planner can make it, else only `made` knows how. */
export interface AdviceCandidate {
  readonly name: string;
  readonly request: PlanRequest | null;
  /** @throws {DomainError} when the factors, limits or sizes do not allow it */
  readonly made: () => Plan;
}

/** A candidate made and assessed, or why it was not. */
export type CandidateOutcome =
  | (AssessedPlan & { readonly name: string })
  | { readonly name: string; readonly why: string };

export interface CandidateWish {
  readonly goal: PlanGoal;
  readonly budget?: PlanBudget;
  readonly starts?: number;
  /** Where to confirm, coded; the centre when left out. */
  readonly at?: Point;
}

/** The candidates of a goal, in the order in which they are to be made. */
export function adviceCandidates(basis: CandidateBasis, wish: CandidateWish): AdviceCandidate[] {
  const { goal, budget = {}, starts = USUAL_STARTS } = wish;
  if (goal === 'confirm') {
    const at = wish.at ?? centreOf(basis.factors);
    return [3, 4, 5].map((setUps) => ({
      name: `${setUps} fresh set-ups`,
      request: null,
      made: () => confirmationPlan(basis, at, setUps),
    }));
  }
  return planCandidates(goal, basis, { budget, starts }).map(({ name, request }) => ({
    name,
    request,
    made: () => planOf(request),
  }));
}

/** What `make` brings; a refusal is an outcome, any other error is thrown on. */
export function triedCandidate(name: string, make: () => AssessedPlan): CandidateOutcome {
  try {
    return { name, ...make() };
  } catch (error) {
    return refusedOutcome(name, error);
  }
}

/** A refusal as an outcome. @throws the error itself when it is no refusal */
export function refusedOutcome(name: string, error: unknown): CandidateOutcome {
  if (!(error instanceof DomainError)) throw error;
  return { name, why: error.message };
}

const centreOf = (factors: readonly Factor[]): Point =>
  Object.fromEntries(factors.map((f) => [f.name, isNumeric(f) ? 0 : f.levels[0]!]));
