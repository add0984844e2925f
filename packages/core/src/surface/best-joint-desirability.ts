import type { LinearConstraint } from '../design/design.ts';
import type { Point } from '../factor/coding.ts';
import { type Factor, isNamed } from '../factor/factor.ts';
import { seededUniform, type Uniform } from '../random/uniform.ts';
import type { Goal } from '../spec/spec.ts';
import { desirability, jointDesirability, rampShare } from './desirability.ts';
import { feasibleProjection, type Region } from './feasible-region.ts';
import { type Polynomial, pointFromSettings } from './polynomial.ts';
import { simplexSearch } from './simplex-search.ts';

/** One response to please: its value at settings, in its own unit, and what is wanted of it. */
export interface WantedResponse {
  readonly name: string;
  readonly predict: Polynomial;
  readonly goal: Goal;
}

export interface JointSearch {
  readonly responses: readonly WantedResponse[];
  readonly factors: readonly Factor[];
  readonly region: Region;
  readonly constraints?: readonly LinearConstraint[];
  readonly seed: number;
  /** Random starts looked at before the best are climbed from. */
  readonly starts?: number;
}

/** A place and how it pleases. */
export interface JointPlace {
  readonly coded: Point;
  readonly joint: number;
  readonly each: readonly {
    readonly name: string;
    readonly value: number;
    readonly desirability: number;
  }[];
}

export type BestJoint =
  | ({ readonly kind: 'found' } & JointPlace)
  /** No place has every response above 0; the nearest miss is told. */
  | ({ readonly kind: 'nowhere-acceptable' } & JointPlace)
  | { readonly kind: 'nothing-feasible' };

const CLIMBED = 12;

/**
 * Settings with the largest joint desirability in a region, by seeded starts and simplex climbs.
 *
 * Where some response is useless the joint value is flat at 0; there the search follows the total
 * miss, in ramp lengths, so that a small window in a wide desert is still found. Every combination
 * of named levels is tried. The same seed gives the same answer.
 *
 * @throws {DomainError} `bad_goal` as `desirability`
 */
export function bestJointDesirability(search: JointSearch): BestJoint {
  const { factors, region, constraints = [], seed, starts = 240 } = search;
  const uniform = seededUniform(seed, 'joint desirability');
  const feasible = feasibleProjection(factors, region, constraints);
  let best: { at: Float64Array; score: number } | null = null;
  for (const levels of levelCombinations(factors)) {
    const whole = wholeSettings(factors, levels);
    const score = (numbers: Float64Array): number => {
      const settings = feasible(whole(numbers));
      return settings ? gradedValue(search.responses, settings) : Number.NEGATIVE_INFINITY;
    };
    for (const start of bestStarts(factors, region, starts, uniform, score)) {
      const found = simplexSearch(score, start, 0.3);
      if (!best || found.score > best.score) best = { at: whole(found.at), score: found.score };
    }
  }
  const at = best && feasible(best.at);
  if (!at) return { kind: 'nothing-feasible' };
  const place = jointPlace(search, at);
  return { kind: place.joint > 0 ? 'found' : 'nowhere-acceptable', ...place };
}

function jointPlace({ responses, factors }: JointSearch, settings: Float64Array): JointPlace {
  const each = responses.map(({ name, predict, goal }) => {
    const value = predict(settings);
    return { name, value, desirability: desirability(value, goal) };
  });
  const joint = jointDesirability(
    each.map((part, i) => ({ ...part, importance: responses[i]!.goal.importance })),
  );
  return { coded: pointFromSettings(settings, factors), joint, each };
}

/** The joint desirability where it is above 0, else minus the total miss in ramp lengths. */
export function gradedValue(
  responses: readonly Pick<WantedResponse, 'predict' | 'goal'>[],
  settings: Float64Array,
): number {
  let sum = 0;
  let weight = 0;
  let missed = 0;
  for (const { predict, goal } of responses) {
    const share = rampShare(predict(settings), goal);
    const importance = goal.importance ?? 1;
    weight += importance;
    if (share <= 0) missed += importance * (-share + 1e-9);
    else if (share < 1) sum += importance * (goal.shape ?? 1) * Math.log(share);
  }
  return missed > 0 ? -missed : Math.exp(sum / weight);
}

function bestStarts(
  factors: readonly Factor[],
  region: Region,
  count: number,
  uniform: Uniform,
  score: (numbers: Float64Array) => number,
): Float64Array[] {
  const k = factors.filter((factor) => !isNamed(factor)).length;
  const reach = region.kind === 'box' ? region.halfWidth : region.radius;
  const candidates = [new Float64Array(k)];
  if (k <= 6) {
    for (let corner = 0; corner < 2 ** k; corner++)
      candidates.push(
        Float64Array.from({ length: k }, (_, j) => (corner & (1 << j) ? reach : -reach)),
      );
  }
  for (let i = 0; i < count; i++)
    candidates.push(Float64Array.from({ length: k }, () => reach * (2 * uniform() - 1)));
  return candidates
    .map((at) => ({ at, score: score(at) }))
    .filter((candidate) => candidate.score > Number.NEGATIVE_INFINITY)
    .sort((a, b) => b.score - a.score)
    .slice(0, CLIMBED)
    .map((candidate) => candidate.at);
}

/** Settings of all factors from the numeric ones, for fixed levels of the named ones. */
function wholeSettings(factors: readonly Factor[], levels: readonly number[]) {
  return (numbers: Float64Array): Float64Array => {
    let at = 0;
    return Float64Array.from(factors, (factor, i) =>
      isNamed(factor) ? levels[i]! : numbers[at++]!,
    );
  };
}

function levelCombinations(factors: readonly Factor[]): number[][] {
  let combinations: number[][] = [[]];
  for (const factor of factors) {
    const count = isNamed(factor) ? factor.levels.length : 1;
    combinations = combinations.flatMap((head) =>
      Array.from({ length: count }, (_, level) => [...head, level]),
    );
  }
  return combinations;
}
