import { z } from 'zod';
import type { LinearConstraint } from '../design/design.ts';
import { DomainError, nearestName } from '../error/domain-error.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';

/**
 * A limit of one's own on the settings, beside those of line and grade: the sum of weight × setting
 * lies between `atLeast` and `atMost`, in natural or in coded units.
 */
export const SettingLimit = z
  .strictObject({
    weights: z.record(z.string(), z.number()),
    atMost: z.number().optional(),
    atLeast: z.number().optional(),
    units: z.enum(['natural', 'coded']).default('natural'),
    says: z.string().trim().min(1).max(120).optional(),
  })
  .check((context) => {
    const { atMost, atLeast, weights } = context.value;
    const refuse = (path: string, message: string): void => {
      context.issues.push({ code: 'custom', input: context.value, path: [path], message });
    };
    if (atMost === undefined && atLeast === undefined)
      refuse('atMost', 'a limit must give atMost, atLeast or both; got neither. Add one.');
    if (Object.values(weights).every((weight) => weight === 0))
      refuse('weights', 'a limit must weigh at least one factor; got none. Name a factor.');
  });
export type SettingLimit = z.infer<typeof SettingLimit>;

/**
 * Limits as linear constraints in coded units.
 *
 * @throws {DomainError} `unknown_factor` or `not_numeric` when a weight names no numeric factor
 */
export function settingConstraints(
  limits: readonly SettingLimit[],
  factors: readonly Factor[],
): LinearConstraint[] {
  return limits.flatMap((limit) => {
    const { weights, atMost, atLeast, units } = limit;
    const coefficients: Record<string, number> = {};
    let constant = 0;
    for (const [name, weight] of Object.entries(weights)) {
      const { low, high } = numericNamed(name, factors);
      coefficients[name] = units === 'coded' ? weight : (weight * (high - low)) / 2;
      if (units === 'natural') constant += (weight * (low + high)) / 2;
    }
    const turned = Object.fromEntries(
      Object.entries(coefficients).map(([name, weight]) => [name, -weight]),
    );
    const says = limit.says ?? limitWords(limit);
    return [
      ...(atMost === undefined ? [] : [{ coefficients, atMost: atMost - constant, says }]),
      ...(atLeast === undefined
        ? []
        : [{ coefficients: turned, atMost: constant - atLeast, says }]),
    ];
  });
}

function limitWords({ weights, atMost, atLeast, units }: SettingLimit): string {
  const sum = Object.entries(weights)
    .filter(([, weight]) => weight !== 0)
    .map(([name, weight], i) => {
      const size = Math.abs(weight) === 1 ? name : `${Math.abs(weight)} × ${name}`;
      if (i === 0) return weight < 0 ? `−${size}` : size;
      return weight < 0 ? ` − ${size}` : ` + ${size}`;
    })
    .join('');
  const ends = [
    ...(atLeast === undefined ? [] : [`at least ${atLeast}`]),
    ...(atMost === undefined ? [] : [`at most ${atMost}`]),
  ].join(' and ');
  return `${sum} ${ends}${units === 'coded' ? ' in coded units' : ''}`;
}

function numericNamed(name: string, factors: readonly Factor[]) {
  const factor = factors.find((candidate) => candidate.name === name);
  if (factor && isNumeric(factor)) return factor;
  const known = factors.filter(isNumeric).map((candidate) => candidate.name);
  if (factor) {
    throw new DomainError(
      'not_numeric',
      `settingConstraints: a limit must weigh numeric factors; got "${name}" with named levels. Forbid a combination of levels instead.`,
      { factor: name },
    );
  }
  const near = nearestName(name, known);
  throw new DomainError(
    'unknown_factor',
    `settingConstraints: a limit must name factors of the plan; got "${name}". ${near ? `Did you mean "${near}"?` : `Known: ${known.join(', ')}.`}`,
    { factor: name, nearest: near ?? null },
  );
}
