import { DomainError } from '../error/domain-error.ts';
import type { Goal } from '../spec/spec.ts';

/**
 * How much a response value is wanted, from 0 (useless) to 1 (as good as can be used).
 *
 * Smallest: ((high − y)/(high − target))^shape between target and high. Largest:
 * ((y − low)/(target − low))^shape. Target: the two ramps joined.
 *
 * @param value - in the response's own unit
 * @returns in [0, 1]
 * @throws {DomainError} `bad_goal` when a limit the aim needs is missing or out of order
 * @source Derringer & Suich (1980), Simultaneous optimization of several response variables,
 *   J. Quality Technology 12:214–219
 */
export function desirability(value: number, goal: Goal): number {
  const share = rampShare(value, goal);
  return share <= 0 ? 0 : share >= 1 ? 1 : share ** (goal.shape ?? 1);
}

/**
 * Position on the goal's ramp before it is cut to 0…1 and bent: below 0 the value misses the goal
 * by that many ramp lengths.
 *
 * @throws {DomainError} `bad_goal` as `desirability`
 */
export function rampShare(value: number, goal: Goal): number {
  const { aim } = goal;
  if (aim === 'smallest') {
    const [target, high] = limits(goal, 'target', 'high');
    return (high - value) / (high - target);
  }
  if (aim === 'largest') {
    const [low, target] = limits(goal, 'low', 'target');
    return (value - low) / (target - low);
  }
  const [low, target] = limits(goal, 'low', 'target');
  const [, high] = limits(goal, 'target', 'high');
  return value <= target ? (value - low) / (target - low) : (high - value) / (high - target);
}

/**
 * Joint desirability: the geometric mean weighed by importance, 0 as soon as one response is
 * useless.
 *
 * @param parts - one a response; importance > 0, 1 when left out
 * @returns in [0, 1]; 1 of nothing
 */
export function jointDesirability(
  parts: readonly { readonly desirability: number; readonly importance?: number | undefined }[],
): number {
  let sum = 0;
  let weight = 0;
  for (const { desirability: d, importance = 1 } of parts) {
    if (d <= 0) return 0;
    sum += importance * Math.log(d);
    weight += importance;
  }
  return weight === 0 ? 1 : Math.exp(sum / weight);
}

function limits(goal: Goal, first: 'target' | 'low', second: 'target' | 'high'): [number, number] {
  const low = goal[first];
  const high = goal[second];
  if (low === undefined || high === undefined || !(low < high)) {
    throw new DomainError(
      'bad_goal',
      `desirability: the aim "${goal.aim}" must have ${first} below ${second}; got ${first}=${low ?? 'nothing'}, ${second}=${high ?? 'nothing'}. Give both limits in the response's unit.`,
      { aim: goal.aim, [first]: low, [second]: high },
    );
  }
  return [low, high];
}
