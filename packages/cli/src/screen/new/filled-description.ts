import {
  type Grade,
  GradeSheet,
  Line,
  Product,
  polymerFamily,
  proposedFactors,
  StudyDescription,
  withFamilyDefaults,
} from '@strandwise/core';
import type { z } from 'zod';

import { fieldProblem, fields, numberOf, type Values } from './fields.ts';

/** The first thing wrong with what was typed. */
export interface Problem {
  readonly kind: 'problem';
  readonly field: string;
  readonly says: string;
}

export type Filled =
  | { readonly kind: 'description'; readonly description: StudyDescription }
  | Problem;

/** Grade and line taken from the library, whose other numbers the form does not ask for. */
export interface FormBase {
  readonly grade?: GradeSheet;
  readonly line?: Line;
}

/** The description that the typed values stand for, or the first thing wrong with them. */
export function filledDescription(values: Values, base: FormBase = {}): Filled {
  for (const each of fields) {
    const says = fieldProblem(each, values[each.key] ?? '');
    if (says !== null) return { kind: 'problem', field: each.key, says };
  }
  const sheet = GradeSheet.safeParse(typedSheet(values, base.grade));
  if (!sheet.success) return problem('grade', sheet.error);
  const grade = typedGrade(sheet.data);
  if ('kind' in grade) return grade;
  const line = typedLine(values, base.line);
  if ('kind' in line) return line;
  const product = Product.safeParse({
    diameterMm: numberAt(values, 'diameter'),
    toleranceMm: numberAt(values, 'tolerance'),
    mostBubblesPerMetre: numberAt(values, 'bubbles'),
    leastOutputKgPerHour: numberAt(values, 'output'),
  });
  if (!product.success) return problem('tolerance', product.error);
  const factors = proposedFactors(grade, line).map((factor) => ({
    ...factor,
    low: numberAt(values, `${factor.name}Low`) ?? factor.low,
    high: numberAt(values, `${factor.name}High`) ?? factor.high,
  }));
  const description = StudyDescription.safeParse({
    name: values['name'],
    grade: sheet.data,
    line,
    product: product.data,
    factors,
  });
  if (description.success) return { kind: 'description', description: description.data };
  const [, index] = description.error.issues[0]!.path;
  const name = typeof index === 'number' ? factors[index]?.name : undefined;
  return problem(name === undefined ? 'name' : `${name}High`, description.error);
}

/** Fields of the form by the grade's own names. */
const sheetFields: readonly (readonly [key: string, name: keyof GradeSheet])[] = [
  ['melting', 'meltingCelsius'],
  ['floor', 'floorCelsius'],
  ['ceiling', 'ceilingCelsius'],
  ['solidDensity', 'solidDensityGPerCm3'],
  ['meltDensity', 'meltDensityGPerCm3'],
];

/** What was typed of the data sheet; a number that stands as the library has it keeps its source. */
function typedSheet(values: Values, base: GradeSheet | undefined): Record<string, unknown> {
  const sheet: Record<string, unknown> = {
    ...base,
    name: values['grade'],
    family: values['family'],
  };
  const sources: Record<string, string> = { ...base?.sources };
  for (const [key, name] of sheetFields) {
    const value = numberAt(values, key);
    if (value !== undefined && value !== base?.[name]) sources[name] = 'data sheet';
    if (value === undefined) delete sheet[name];
    else sheet[name] = value;
  }
  const usual = base?.drying ?? polymerFamily(values['family'] ?? '')?.drying;
  const [celsius, hours, ppm] = ['dryCelsius', 'dryHours', 'moisture'].map((key) =>
    numberAt(values, key),
  );
  if (celsius !== undefined || hours !== undefined || ppm !== undefined) {
    sheet['drying'] = {
      celsius: celsius ?? usual?.celsius,
      hours: hours ?? usual?.hours,
      mostMoisturePpm: ppm ?? usual?.mostMoisturePpm,
    };
    if (base?.drying === undefined) sources['drying'] = 'data sheet';
  }
  return { ...sheet, sources };
}

/** The grade with its gaps filled from the family, or what is missing. */
function typedGrade(sheet: GradeSheet): Grade | Problem {
  const filled = withFamilyDefaults(sheet);
  if (filled.kind === 'filled') return filled.grade;
  const field = sheetFields.find(([, name]) => filled.missing.includes(name))?.[0] ?? 'family';
  return { kind: 'problem', field, says: filled.says };
}

function typedLine(values: Values, base: Line | undefined): Line | Problem {
  const zones = numberAt(values, 'zones')!;
  const limit = numberAt(values, 'heaterLimit')!;
  const line = Line.safeParse({
    ...base,
    name: values['line'],
    zones:
      base?.zones.length === zones && limit === base.zones[0]?.heaterLimitCelsius
        ? base.zones
        : Array.from({ length: zones }, (_, i) => ({
            name: zoneName(i, zones),
            heaterLimitCelsius: limit,
          })),
    screw: {
      ...base?.screw,
      diameterMm: numberAt(values, 'screwDiameter'),
      lowRpm: numberAt(values, 'lowRpm'),
      highRpm: numberAt(values, 'highRpm'),
    },
  });
  return line.success
    ? line.data
    : problem(zones < 1 || zones > 8 ? 'zones' : 'highRpm', line.error);
}

/** What the form shows of a grade and a line of the library. */
export function valuesFrom({ grade, line }: FormBase): Values {
  const text = (value: number | undefined): string => (value === undefined ? '' : String(value));
  return {
    ...(grade && {
      grade: grade.name,
      family: grade.family,
      ...Object.fromEntries(
        sheetFields.map(([key, name]) => [key, text(grade[name] as number | undefined)]),
      ),
      dryCelsius: text(grade.drying?.celsius),
      dryHours: text(grade.drying?.hours),
      moisture: text(grade.drying?.mostMoisturePpm),
    }),
    ...(line && {
      line: line.name,
      zones: text(line.zones.length),
      heaterLimit: text(line.zones[0]?.heaterLimitCelsius),
      screwDiameter: text(line.screw.diameterMm),
      lowRpm: text(line.screw.lowRpm),
      highRpm: text(line.screw.highRpm),
    }),
  };
}

/** What an empty field stands for, by field, as far as the answers so far tell. */
export function proposedValues(
  values: Values,
  base: FormBase = {},
): Readonly<Record<string, number>> {
  const factorKeys = new Set(
    fields.flatMap(({ key, section }) => (section === 'factors' ? key : [])),
  );
  const known = Object.fromEntries(
    fields
      .filter(({ key }) => !factorKeys.has(key))
      .map(({ key, kind, isOptional, initial }) => [
        key,
        values[key]?.trim() || (isOptional ? '' : kind === 'text' ? 'unnamed' : initial),
      ]),
  );
  const filled = filledDescription(known, base);
  if (filled.kind === 'problem') return {};
  const { grade, factors = [] } = filled.description;
  const full = typedGrade(grade);
  if ('kind' in full) return {};
  const drying = full.drying && {
    dryCelsius: full.drying.celsius,
    dryHours: full.drying.hours,
    moisture: full.drying.mostMoisturePpm,
  };
  return {
    ...Object.fromEntries(
      sheetFields.flatMap(([key, name]) => (full[name] === undefined ? [] : [[key, full[name]]])),
    ),
    ...drying,
    ...Object.fromEntries(
      factors.flatMap((factor) =>
        'low' in factor
          ? [
              [`${factor.name}Low`, factor.low],
              [`${factor.name}High`, factor.high],
            ]
          : [],
      ),
    ),
  };
}

/** A typed number; undefined when nothing is. */
const numberAt = (values: Values, key: string): number | undefined =>
  (values[key] ?? '').trim() === '' ? undefined : numberOf(values[key]!);

const zoneName = (i: number, zones: number): string =>
  i === 0 ? 'feed' : i === zones - 1 ? 'die' : zones === 3 ? 'middle' : `middle ${i}`;

const problem = (key: string, error: z.ZodError): Problem => ({
  kind: 'problem',
  field: key,
  says: unionMessage(error.issues[0]!),
});

/** The message that a person can act on: of a union, that of the branch that came nearest. */
function unionMessage(issue: z.core.$ZodIssue): string {
  if (issue.code !== 'invalid_union') return issue.message;
  const custom = issue.errors.flat().find(({ code }) => code === 'custom');
  return custom?.message ?? issue.message;
}
