import {
  brokenConstraints,
  DomainError,
  type Plan,
  planOf,
  refusals,
  type SetPoints,
  seededUniform,
  settingConstraints,
  settingSequence,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { randomPlanRequest } from './random-plan-request.ts';

// 300 in a usual run; STRANDWISE_CASES=10000 for the full count (about ten minutes).
const cases = Number(process.env['STRANDWISE_CASES'] ?? 300);
const from = Number(process.env['STRANDWISE_FIRST_CASE'] ?? 0);

/** Refusals that an honest planner may answer with. */
const allowed = new Set([
  'run_outside_constraints',
  'axial_outside_limits',
  'conflicting_limits',
  'empty_region',
  'thin_region',
  'too_few_runs',
  'too_few_whole_plots',
  'too_few_sub_whole_plots',
  'not_estimable',
  'singular',
  'too_few_factors',
  'too_many_factors',
  'needs_numeric_factors',
  'needs_two_levels',
  'set_points_refused',
  'rounded_outside',
  'too_many_runs',
]);

describe('limits of a plan', () => {
  it(`law: no limit is broken after rounding, any of ${cases} random specs`, {
    timeout: 3_600_000,
  }, () => {
    const counts = { made: 0, refused: 0 };
    const offences: string[] = [];
    for (let i = from; i < from + cases; i++) {
      const request = randomPlanRequest(seededUniform(i, 'random specs'));
      try {
        offences.push(...offencesOf(planOf(request)).map((says) => `spec ${i}: ${says}`));
        counts.made++;
      } catch (error) {
        if (!(error instanceof DomainError) || !allowed.has(error.code))
          throw new Error(`spec ${i} `, { cause: error });
        // Families that are free to keep off the limits must not be stopped by rounding.
        const isFree = ['optimal', 'space filling'].includes(request.family);
        if (isFree && ['rounded_outside', 'run_outside_constraints'].includes(error.code))
          offences.push(
            `spec ${i}: ${request.family} refused with ${error.code}: ${error.message}`,
          );
        counts.refused++;
      }
    }
    expect(offences).toEqual([]);
    // Most of the specs must lead to a plan, or the law says little.
    expect(counts.made).toBeGreaterThan(0.4 * cases);
  });
});

function offencesOf(plan: Plan): string[] {
  const { line, grade, product } = plan.request.surroundings!;
  const own = settingConstraints(plan.request.limits ?? [], plan.request.factors);
  const out: string[] = [];
  let before: SetPoints | null = null;
  for (const { runOrder, setPoints, coded, natural } of plan.ordered.runs) {
    for (const { says } of refusals(setPoints!, line, grade, product))
      out.push(`${runOrder} ${says}`);
    for (let z = 1; z < setPoints!.zonesCelsius.length; z++) {
      const step = Math.abs(setPoints!.zonesCelsius[z]! - setPoints!.zonesCelsius[z - 1]!);
      if (step > line.largestNeighbourStepCelsius + 1e-6 && movesZones(plan))
        out.push(`${runOrder} zones ${z} and ${z + 1} are ${step} °C apart`);
    }
    for (const { says } of brokenConstraints(coded, own)) out.push(`${runOrder} breaks ${says}`);
    out.push(...forbiddenIn(plan, natural).map((says) => `${runOrder} ${says}`));
    out.push(...coldOnTheWay(before, setPoints!, plan).map((says) => `${runOrder} ${says}`));
    before = setPoints;
  }
  return out;
}

/** Limits on neighbouring zones bind only where some factor moves zones. */
const movesZones = ({ request }: Plan): boolean =>
  request.factors.some(
    (factor) => 'acts' in factor && ['level', 'tilt', 'hump', 'ripple'].includes(factor.acts!),
  ) &&
  request.factors.some(
    (factor) => 'acts' in factor && ['tilt', 'hump', 'ripple'].includes(factor.acts!),
  );

function forbiddenIn({ request }: Plan, natural: Readonly<Record<string, unknown>>): string[] {
  const forbidden = (request.options?.['forbidden'] ?? []) as {
    gap: { from: number; to: number };
  }[];
  return forbidden
    .filter(({ gap }) => Number(natural['gap']) >= gap.from && Number(natural['gap']) <= gap.to)
    .map(({ gap }) => `gap ${natural['gap']} is forbidden from ${gap.from} to ${gap.to}`);
}

/** Keyed in step by step, no zone may stand colder than both cells want it. */
function coldOnTheWay(from: SetPoints | null, to: SetPoints, { request }: Plan): string[] {
  if (!from) return [];
  const { line } = request.surroundings!;
  const now = [...from.zonesCelsius];
  const out: string[] = [];
  for (const step of settingSequence(from, to, line)) {
    if (step.what !== 'zone') continue;
    const zone = line.zones.findIndex(({ name }) => name === step.name);
    now[zone] = Number(step.to);
    for (const [i, celsius] of now.entries()) {
      if (celsius < Math.min(from.zonesCelsius[i]!, to.zonesCelsius[i]!))
        out.push(`zone ${i + 1} passes ${celsius} °C on the way`);
    }
  }
  for (const [i, celsius] of now.entries())
    if (celsius !== to.zonesCelsius[i]) out.push(`zone ${i + 1} ends at ${celsius} °C`);
  return out;
}
