import { z } from 'zod';
import { DomainError } from '../../error/domain-error.ts';
import { naturalValue } from '../../factor/coding.ts';
import type { NumericFactor } from '../../factor/factor.ts';
import { brokenConstraints, type DesignRun, type LinearConstraint } from '../design.ts';
import { factorPosition } from '../known-name.ts';

/** Natural limits a factor must never pass, by factor name. */
export const NaturalLimits = z.record(
  z.string(),
  z.strictObject({ min: z.number().optional(), max: z.number().optional() }),
);
export type NaturalLimits = z.infer<typeof NaturalLimits>;

interface Limits {
  readonly limits: NaturalLimits;
  readonly constraints: readonly LinearConstraint[];
}

/**
 * Refuses axial points that the line cannot or must not run.
 * @throws {DomainError} `axial_outside_limits` naming factor, natural value and limit
 * @throws {DomainError} `unknown_factor` when a limit names no factor
 */
export function assertAxialInside(
  runs: readonly DesignRun[],
  factors: readonly NumericFactor[],
  { limits, constraints }: Limits,
): void {
  for (const name of Object.keys(limits)) {
    factorPosition(name, factors, 'designOf: factor in option "limits"');
  }
  for (const run of runs) {
    const factor = factors.find(({ name }) => run.coded[name] !== 0);
    if (run.kind === 'centre' || !factor) continue;
    const value = naturalValue(Number(run.coded[factor.name]), factor);
    const { min, max } = limits[factor.name] ?? {};
    const slack = 1e-9 * (factor.high - factor.low);
    if (max !== undefined && value > max + slack)
      refuse(factor, value, `at most ${withUnit(max, factor)}`);
    if (min !== undefined && value < min - slack)
      refuse(factor, value, `at least ${withUnit(min, factor)}`);
    const [broken] = brokenConstraints(run.coded, constraints);
    if (broken) refuse(factor, value, `inside the limit "${broken.says}"`);
  }
}

function refuse(factor: NumericFactor, value: number, rule: string): never {
  throw new DomainError(
    'axial_outside_limits',
    `designOf: axial point of "${factor.name}" must be ${rule}; got ${withUnit(value, factor)} (low ${withUnit(factor.low, factor)}, high ${withUnit(factor.high, factor)}). Set "inscribed" to true to draw the whole design inside low and high, or "alpha" to "face-centred" to end the axes at low and high.`,
    { factor: factor.name, value, rule },
  );
}

function withUnit(value: number, { unit }: NumericFactor): string {
  const rounded = String(Number(value.toPrecision(6)));
  return unit ? `${rounded} ${unit}` : rounded;
}
