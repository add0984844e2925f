import { z } from 'zod';
import { DomainError, nearestName } from '../error/domain-error.ts';
import { type Factor, isNamed, isNumeric, type NumericFactor } from '../factor/factor.ts';
import type { Model } from '../term/term.ts';
import type { Design, LinearConstraint } from './design.ts';

/** What a family gets to build from, its options already checked. */
export interface FamilyRequest<Options> {
  readonly factors: readonly Factor[];
  readonly model: Model;
  readonly options: Options;
  readonly seed: number;
  readonly constraints: readonly LinearConstraint[];
}

/** A family of designs as the registry holds it. */
export interface DesignFamily {
  /** Its name in plain words of the trade. */
  readonly name: string;
  /** One sentence: what it is good for. */
  readonly says: string;
  /** What `options` may hold; unknown names are refused. */
  readonly options: z.ZodObject;
  /**
   * Builds the design.
   * @throws {DomainError} `unknown_option`, `bad_option`, or the family's own codes
   */
  readonly build: (request: FamilyRequest<Readonly<Record<string, unknown>>>) => Design;
}

/** A family from its schema and a builder that sees the checked options. */
export function designFamily<Options extends z.ZodObject>(definition: {
  readonly name: string;
  readonly says: string;
  readonly options: Options;
  readonly build: (request: FamilyRequest<z.output<Options>>) => Design;
}): DesignFamily {
  const { name, says, options, build } = definition;
  return {
    name,
    says,
    options,
    build: (request) =>
      build({ ...request, options: checkedOptions(name, options, request.options) }),
  };
}

/** Options of every family: extra centre points in each block, and how often the whole is run. */
export const commonOptions = {
  centrePoints: z.int().min(0).max(50).optional(),
  replicates: z.int().min(1).max(20).default(1),
};

/**
 * The options as a family's schema takes them.
 * @throws {DomainError} `unknown_option` or `bad_option`
 */
export function checkedOptions<Options extends z.ZodObject>(
  family: string,
  schema: Options,
  given: Readonly<Record<string, unknown>>,
): z.output<Options> {
  const parsed = schema.safeParse(given);
  if (parsed.success) return parsed.data;
  const known = Object.keys(schema.shape);
  const issue = parsed.error.issues[0]!;
  if (issue.code === 'unrecognized_keys' && issue.path.length === 0) {
    const option = issue.keys[0] ?? '';
    const nearest = nearestName(option, known);
    const next = nearest ? `Did you mean "${nearest}"?` : 'Leave it out.';
    throw new DomainError(
      'unknown_option',
      `designOf: an option of family "${family}" must be one of ${known.join(', ')}; got "${option}". ${next}`,
      { family, option, nearest: nearest ?? null },
    );
  }
  const path = issue.path.join('.');
  const got = JSON.stringify(valueAt(given, issue.path)) ?? 'nothing';
  throw new DomainError(
    'bad_option',
    `designOf: option "${path}" of family "${family}" must be acceptable; got ${got} (${issueWords(issue)}). Correct it or leave it out.`,
    { family, path },
  );
}

/** What an issue asks for; of a choice, every branch. */
function issueWords(issue: z.core.$ZodIssue): string {
  if (issue.code !== 'invalid_union') return issue.message;
  const branches = issue.errors.flatMap(([first]) => (first ? [issueWords(first)] : []));
  return branches.length === 0 ? issue.message : branches.join(', or ');
}

function valueAt(value: unknown, path: readonly PropertyKey[]): unknown {
  let at: unknown = value;
  for (const key of path) {
    if (typeof at !== 'object' || at === null) return undefined;
    at = (at as Readonly<Record<PropertyKey, unknown>>)[key];
  }
  return at;
}

/**
 * The factors, all numeric.
 * @throws {DomainError} `needs_numeric_factors` when one has named levels
 */
export function numericOnly(family: string, factors: readonly Factor[]): NumericFactor[] {
  const named = factors.find(isNamed);
  if (!named) return factors.filter(isNumeric);
  throw new DomainError(
    'needs_numeric_factors',
    `designOf: every factor of family "${family}" must be numeric; got named levels ${named.levels.join(', ')} (factor "${named.name}"). Make one plan per level, or use "full factorial" or "optimal".`,
    { family, factor: named.name },
  );
}

/**
 * Refuses a factor with three or more named levels.
 * @throws {DomainError} `needs_two_levels`
 */
export function assertTwoLevel(family: string, factors: readonly Factor[]): void {
  const many = factors.find((factor) => isNamed(factor) && factor.levels.length > 2);
  if (!many || !isNamed(many)) return;
  throw new DomainError(
    'needs_two_levels',
    `designOf: a named factor of family "${family}" must have two levels; got ${many.levels.length} (factor "${many.name}"). Drop levels, or use "full factorial" or "optimal".`,
    { family, factor: many.name },
  );
}

/**
 * Refuses too few or too many factors.
 * @throws {DomainError} `too_few_factors` or `too_many_factors`
 */
export function assertFactorCount(
  family: string,
  factors: readonly Factor[],
  {
    least,
    most,
    instead,
  }: { readonly least: number; readonly most: number; readonly instead: string },
): void {
  const got = factors.length;
  if (got >= least && got <= most) return;
  throw new DomainError(
    got < least ? 'too_few_factors' : 'too_many_factors',
    `designOf: family "${family}" must have ${least} to ${most} factors; got ${got}. ${instead}`,
    { family, least, most, got },
  );
}
