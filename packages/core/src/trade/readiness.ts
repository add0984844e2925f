import { type Caution, cautions } from './cautions.ts';
import { type BarrelMaterial, type Changeover, changeover, gradeMaterial } from './changeover.ts';
import { type DryingAdvice, dryingAdvice } from './drying.ts';
import { polymerFamily } from './family-table.ts';
import type { Grade } from './grade.ts';
import type { Line } from './line.ts';
import {
  isRecycled,
  isRunnable,
  type Permission,
  permission,
  type RunException,
} from './permission.ts';
import { type StartTemperature, startTemperature } from './start-temperature.ts';

export interface ReadinessOf {
  readonly grade: Grade;
  readonly line: Line;
  /** What is in the barrel: a family, a known material, or null when it has been cleaned. */
  readonly barrel: string | BarrelMaterial | null;
  /** Families run since the barrel was last cleaned mechanically. */
  readonly runBefore?: readonly string[];
  readonly exception?: RunException;
  /** Moisture out of the dryer, when measured; ppm. */
  readonly driedPpm?: number;
}

/** All that is settled before the heaters are turned on. */
export interface Readiness {
  readonly verdict: 'may heat' | 'refused';
  /** Why not, the most serious first; empty when it may be heated. */
  readonly refusals: readonly string[];
  readonly permission: Permission;
  readonly drying: DryingAdvice;
  readonly start: StartTemperature;
  readonly changeover: Changeover;
  readonly cautions: readonly Caution[];
}

/** True for words that stand for an empty, cleaned barrel. */
export const isCleanBarrel = (words: string): boolean =>
  /^(clean|cleaned|empty|none|nothing)$/i.test(words.trim());

/**
 * Whether a grade may be brought into a line, and how: dried how, started where, the barrel changed
 * over by which path. A grade that is itself in the barrel needs no changeover.
 */
export function readiness(options: ReadinessOf): Readiness {
  const { grade, line, exception, runBefore, driedPpm } = options;
  const rule = permission(grade, exception);
  const target = gradeMaterial(grade);
  const from = isSameMaterial(options.barrel, grade) ? null : options.barrel;
  const path = changeover({
    from,
    to: target,
    line,
    ...(runBefore ? { runBefore } : {}),
    ...(exception ? { exception } : {}),
  });
  const refusals = [
    ...(isRunnable(rule) || !('says' in rule) ? [] : [rule.says]),
    ...(path.kind === 'refused' ? [path.says] : []),
  ].filter((says, i, all) => all.indexOf(says) === i);
  return {
    verdict: refusals.length === 0 ? 'may heat' : 'refused',
    refusals,
    permission: rule,
    drying: dryingAdvice(grade, {
      isRecycled: isRecycled(grade),
      ...(driedPpm === undefined ? {} : { driedPpm }),
    }),
    start: startTemperature(grade, line),
    changeover: path,
    cautions: cautions('before heating', grade),
  };
}

/** The same grade, by name; another grade of the same family is another material. */
function isSameMaterial(barrel: string | BarrelMaterial | null, { name }: Grade): boolean {
  if (barrel === null) return true;
  const held = typeof barrel === 'string' ? barrel : barrel.name;
  return held.trim().toLowerCase() === name.trim().toLowerCase();
}

/** What the barrel holds as a material: a grade on record by name, else the family of that name. */
export function barrelMaterial(
  held: string,
  grades: readonly Pick<
    Grade,
    'name' | 'family' | 'floorCelsius' | 'ceilingCelsius' | 'meltDensityGPerCm3'
  >[],
): string | BarrelMaterial | null {
  if (isCleanBarrel(held)) return null;
  const wanted = held.trim().toLowerCase();
  const known = grades.find(({ name }) => name.trim().toLowerCase() === wanted);
  if (known) return gradeMaterial(known as Grade);
  return polymerFamily(held)?.family ?? held.trim();
}
