import { z } from 'zod';
import { DomainError } from '../error/domain-error.ts';
import { Factor, type NumericFactor } from '../factor/factor.ts';
import { Response } from '../spec/spec.ts';
import { type FilledGrade, withFamilyDefaults } from '../trade/family-defaults.ts';
import { type Grade, GradeSheet, Product } from '../trade/grade.ts';
import { Line } from '../trade/line.ts';
import type { StudyOpened } from './event.ts';
import { lineResponses } from './line-response.ts';

/**
 * What a scientist writes down to start a study: the file that `strandwise new --from` reads.
 * Factors, fixed settings and responses may be left out; they are then proposed from the grade and
 * the line, to be looked at and changed. Gaps of the grade are filled from its family.
 */
export const StudyDescription = z.strictObject({
  name: z.string().trim().min(1).max(80),
  invented: z.boolean().default(false),
  grade: GradeSheet,
  line: Line,
  product: Product,
  factors: z.array(Factor).min(1).optional(),
  fixed: z.record(z.string(), z.number()).optional(),
  responses: z.array(Response).min(1).optional(),
  seed: z.int().default(1),
});
export type StudyDescription = z.infer<typeof StudyDescription>;

/** Middle settings for whatever is not a factor; common practice for a bench line, no source. */
export function middleSettings(grade: Grade, line: Line): Record<string, number> {
  return {
    level: Math.round((grade.floorCelsius + grade.ceilingCelsius) / 2),
    tilt: line.zones.length > 1 ? 20 : 0,
    hump: line.zones.length > 2 ? 10 : 0,
    ripple: 0,
    screw: Math.min(Math.max(5, line.screw.lowRpm), line.screw.highRpm),
    fan: 50,
  };
}

/**
 * Proposed factors: level, tilt, hump, screw and fan round the middle settings, half-widths after
 * common practice (no source): level ±10 °C or a quarter of the window, tilt ±10, hump ±8, screw
 * ±30 %, fan ±25 %.
 */
export function proposedFactors(grade: Grade, line: Line): NumericFactor[] {
  const middle = middleSettings(grade, line);
  const window = grade.ceilingCelsius - grade.floorCelsius;
  const halfWidths: Record<string, number> = {
    level: Math.max(2, Math.min(10, Math.floor(window / 4))),
    tilt: 10,
    hump: 8,
    screw: 0.3 * middle['screw']!,
    fan: 25,
  };
  const zones = line.zones.length;
  const names = [
    'level',
    ...(zones > 1 ? ['tilt'] : []),
    ...(zones > 2 ? ['hump'] : []),
    'screw',
    'fan',
  ] as const;
  return names.map((name) => ({
    name,
    low: middle[name]! - halfWidths[name]!,
    high: middle[name]! + halfWidths[name]!,
    unit: name === 'screw' ? 'rpm' : name === 'fan' ? '%' : '°C',
    changes: name === 'fan' ? 'easy' : name === 'screw' ? 'semi-hard' : 'hard',
    acts: name as NumericFactor['acts'],
  }));
}

/**
 * A description with every gap filled, ready to open a study.
 * @throws {DomainError} `duplicate_factor` when two factors share a name or move the same thing
 * @throws {DomainError} `incomplete_grade` when neither sheet nor family gives a number it takes
 */
export function openedFrom(description: StudyDescription): StudyOpened {
  const { line, product } = description;
  const { grade } = filledGrade(description);
  const factors = description.factors ?? proposedFactors(grade, line);
  assertDistinct(factors);
  return {
    kind: 'study opened',
    name: description.name,
    invented: description.invented,
    grade,
    line,
    product,
    factors,
    responses:
      description.responses ?? lineResponses(line, product).map(({ response }) => response),
    fixed: { ...middleSettings(grade, line), ...description.fixed },
    seed: description.seed,
  };
}

/**
 * The grade of a description with its gaps filled from the family, which numbers those are, and
 * where the sheet leaves what is usual for the family.
 *
 * @throws {DomainError} `incomplete_grade` when neither sheet nor family gives a number it takes
 */
export function filledGrade({
  grade,
}: Pick<StudyDescription, 'grade'>): Extract<FilledGrade, { kind: 'filled' }> {
  const filled = withFamilyDefaults(grade);
  if (filled.kind === 'filled') return filled;
  throw new DomainError(
    'incomplete_grade',
    `filledGrade: grade "${grade.name}" must have ${filled.missing.join(', ')}; got none. ${filled.says}`,
    { missing: filled.missing },
  );
}

function assertDistinct(factors: readonly Factor[]): void {
  const seen = new Map<string, string>();
  for (const factor of factors) {
    const acts =
      'acts' in factor && factor.acts !== undefined && factor.acts !== 'other' ? factor.acts : null;
    for (const key of [
      `name ${factor.name.toLowerCase()}`,
      ...(acts === null ? [] : [`acts ${acts}`]),
    ]) {
      const other = seen.get(key);
      if (other !== undefined) {
        throw new DomainError(
          'duplicate_factor',
          `openedFrom: every factor must differ in name and in what it moves; got "${other}" and "${factor.name}" with the same ${key}. Rename or drop one.`,
          { factor: factor.name },
        );
      }
      seen.set(key, factor.name);
    }
  }
}
