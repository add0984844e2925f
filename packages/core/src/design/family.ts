import { DomainError } from '../error/domain-error.ts';
import { naturalValue } from '../factor/coding.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';
import type { Model } from '../term/term.ts';
import { brokenConstraints, type Design, type DesignRun, type LinearConstraint } from './design.ts';
import type { DesignFamily } from './family-definition.ts';
import { positionOf } from './known-name.ts';
import { optimalFamily } from './optimal/optimal-family.ts';
import { boxBehnken } from './response-surface/box-behnken.ts';
import { centralComposite } from './response-surface/central-composite.ts';
import { definitiveScreening } from './screening/definitive-screening.ts';
import { plackettBurman } from './screening/plackett-burman.ts';
import { spaceFilling } from './space-filling/space-filling.ts';
import { fractionalFactorial } from './two-level/fractional-factorial.ts';
import { fullFactorial } from './two-level/full-factorial.ts';

/** Every family that `designOf` builds, in the order they are offered. */
export const designFamilies: readonly DesignFamily[] = [
  fullFactorial,
  fractionalFactorial,
  plackettBurman,
  definitiveScreening,
  centralComposite,
  boxBehnken,
  spaceFilling,
  optimalFamily,
];

/** What is asked of `designOf`. */
export interface DesignRequest {
  readonly factors: readonly Factor[];
  /** What the design should be able to fit; some families take their size from it. */
  readonly model: Model;
  /** A family by name, e.g. "central composite". */
  readonly family: string;
  readonly options?: Readonly<Record<string, unknown>>;
  /** Whole number; only families that draw at random look at it. 1 unless said. */
  readonly seed?: number;
  /** Limits that every run must respect. */
  readonly constraints?: readonly LinearConstraint[];
}

/**
 * A design of a named family, in design order.
 *
 * @throws {DomainError} `no_factors`, `unknown_family`, `unknown_option`, `bad_option`,
 * `too_few_factors`, `too_many_factors`, `needs_numeric_factors`, `needs_two_levels`,
 * `run_outside_constraints`, or a code of the family
 * @example designOf({ factors, model: 'quadratic', family: 'box-behnken' })
 */
export function designOf(request: DesignRequest): Design {
  const { factors, model, options = {}, seed = 1, constraints = [] } = request;
  if (factors.length === 0) {
    throw new DomainError(
      'no_factors',
      'designOf: a design must have at least one factor; got none. Add a factor.',
    );
  }
  const family = familyNamed(request.family);
  const design = family.build({ factors, model, options, seed, constraints });
  assertInside(design, constraints);
  return design;
}

/**
 * A family by name.
 * @throws {DomainError} `unknown_family`, offering the nearest name
 */
export function familyNamed(name: string): DesignFamily {
  const at = positionOf(name.trim().toLowerCase(), {
    subject: 'designOf: family',
    known: designFamilies.map((family) => family.name),
    code: 'unknown_family',
  });
  return designFamilies[at]!;
}

function assertInside(design: Design, constraints: readonly LinearConstraint[]): void {
  for (const [i, run] of design.runs.entries()) {
    const [broken] = brokenConstraints(run.coded, constraints);
    if (!broken) continue;
    throw new DomainError(
      'run_outside_constraints',
      `designOf: every run must respect "${broken.says}"; got ${settingWords(run, design.factors)} (run ${i + 1} of "${design.family}"). Narrow the ranges, or use "optimal" or "space filling", which fit inside limits.`,
      { run: i + 1, says: broken.says },
    );
  }
}

function settingWords({ coded }: DesignRun, factors: readonly Factor[]): string {
  return factors
    .map((factor) => {
      const value = coded[factor.name];
      if (!isNumeric(factor)) return `${factor.name} ${value}`;
      const natural = Number(naturalValue(Number(value), factor).toPrecision(6));
      return `${factor.name} ${natural}${factor.unit ? ` ${factor.unit}` : ''}`;
    })
    .join(', ');
}
