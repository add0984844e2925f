import type { LinearConstraint } from '../design/design.ts';
import { DomainError, nearestName } from '../error/domain-error.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';
import type { PlannedRun } from '../schedule/planned-run.ts';
import type { SettingLimit } from '../spec/setting-limit.ts';
import type { AffineZones } from '../trade/limits.ts';

/**
 * Limits as linear constraints in coded units.
 *
 * @param zones - how the factors make zone set points, for limits that name a zone
 * @throws {DomainError} `unknown_factor` or `not_numeric` when a weight names no numeric factor
 */
export function settingConstraints(
  limits: readonly SettingLimit[],
  factors: readonly Factor[],
  zones?: AffineZones,
): LinearConstraint[] {
  return limits.flatMap((limit) => {
    const { atMost, atLeast, units } = limit;
    const { weights, offset } = spelledOut(limit, factors, zones);
    const coefficients: Record<string, number> = {};
    let constant = offset;
    for (const [name, weight] of Object.entries(weights)) {
      const { low, high } = numericNamed(name, factors);
      coefficients[name] = units === 'coded' ? weight : (weight * (high - low)) / 2;
      if (units === 'natural') constant += (weight * (low + high)) / 2;
    }
    const turned = Object.fromEntries(
      Object.entries(coefficients).map(([name, weight]) => [name, -weight]),
    );
    const says = limitSays(limit);
    return [
      ...(atMost === undefined ? [] : [{ coefficients, atMost: atMost - constant, says }]),
      ...(atLeast === undefined
        ? []
        : [{ coefficients: turned, atMost: constant - atLeast, says }]),
    ];
  });
}

/** The zone that a name stands for, from 0, when it is not a factor's. */
function zoneNamed(name: string, factors: readonly Factor[]): number | null {
  if (factors.some((factor) => factor.name === name)) return null;
  const found = /^zone ([1-8])$/.exec(name.trim());
  return found ? Number(found[1]) - 1 : null;
}

/** Weights on factors alone: a zone is replaced by what the factors make of it. */
function spelledOut(
  { weights, units }: SettingLimit,
  factors: readonly Factor[],
  zones: AffineZones | undefined,
): { weights: Record<string, number>; offset: number } {
  const out: Record<string, number> = {};
  let offset = 0;
  const add = (name: string, weight: number): void => {
    out[name] = (out[name] ?? 0) + weight;
  };
  for (const [name, weight] of Object.entries(weights)) {
    const zone = units === 'natural' && zones ? zoneNamed(name, factors) : null;
    const constant = zone === null ? undefined : zones?.constant[zone];
    if (zone === null || constant === undefined) {
      add(name, weight);
      continue;
    }
    offset += weight * constant;
    for (const [factor, row] of zones!.weights) add(factor, weight * row[zone]!);
  }
  return { weights: out, offset };
}

/** The first limit that a run breaks as it will be keyed in, after rounding; undefined when none. */
export function brokenSettingLimit(
  limits: readonly SettingLimit[],
  factors: readonly Factor[],
  run: Pick<PlannedRun, 'coded' | 'natural' | 'setPoints'>,
): SettingLimit | undefined {
  return limits.find((limit) => {
    const settings = limit.units === 'coded' ? run.coded : run.natural;
    let sum = 0;
    for (const [name, weight] of Object.entries(limit.weights)) {
      const zone = limit.units === 'natural' ? zoneNamed(name, factors) : null;
      sum += weight * Number(zone === null ? settings[name] : run.setPoints?.zonesCelsius[zone]);
    }
    const slack = 1e-9 * Math.max(1, Math.abs(sum));
    return (
      sum > (limit.atMost ?? Number.POSITIVE_INFINITY) + slack ||
      sum < (limit.atLeast ?? Number.NEGATIVE_INFINITY) - slack
    );
  });
}

/** A limit in words: its own, or what it says in numbers. */
export const limitSays = (limit: SettingLimit): string => limit.says ?? limitWords(limit);

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
