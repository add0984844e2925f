import { Grade, Line, Product, proposedFactors, StudyDescription } from '@strandwise/core';
import type { z } from 'zod';

/** One question of the form. Values are kept as typed, so that nothing typed is lost. */
export interface Field {
  readonly key: string;
  readonly section: string;
  readonly label: string;
  readonly unit: string;
  readonly kind: 'text' | 'number' | 'whole';
  readonly isOptional: boolean;
  /** Shown under the form while the field is in hand. */
  readonly help: string;
  readonly initial: string;
}

const field = (
  section: string,
  key: string,
  label: string,
  initial: string,
  help: string,
  more: Partial<Pick<Field, 'unit' | 'kind' | 'isOptional'>> = {},
): Field => ({
  section,
  key,
  label,
  initial,
  help,
  unit: '',
  kind: 'number',
  isOptional: false,
  ...more,
});

/** The questions in order. What has a common default carries it; what a data sheet must say is empty. */
export const fields: readonly Field[] = [
  field(
    'study',
    'name',
    'name of the study',
    '',
    'A short name that you will recognise next month.',
    { kind: 'text' },
  ),
  field('grade', 'grade', 'grade', '', 'The name on the bag.', { kind: 'text' }),
  field('grade', 'family', 'family', '', 'The polymer: PLA, PETG, PP, …', { kind: 'text' }),
  field(
    'grade',
    'floor',
    'coldest barrel setting',
    '',
    'Coldest set point at which it is melted: for a semicrystalline grade 10 to 20 °C above its melting point.',
    { unit: '°C' },
  ),
  field(
    'grade',
    'ceiling',
    'hottest barrel setting',
    '',
    'Hottest set point it stands for a barrel’s residence time; the data sheet’s maximum or less.',
    { unit: '°C' },
  ),
  field(
    'grade',
    'solidDensity',
    'solid density',
    '1.24',
    'At room temperature, from the data sheet.',
    { unit: 'g/cm³' },
  ),
  field(
    'grade',
    'meltDensity',
    'melt density',
    '1.07',
    'At processing temperature; about 0.86 of the solid density when the sheet is silent.',
    { unit: 'g/cm³' },
  ),
  field('line', 'line', 'line', 'bench line', 'A name for the machine.', { kind: 'text' }),
  field('line', 'zones', 'heated zones', '4', 'From 1 to 8, counted from the feed end.', {
    kind: 'whole',
  }),
  field('line', 'heaterLimit', 'heater limit', '350', 'Of every zone, from the machine’s manual.', {
    unit: '°C',
  }),
  field('line', 'screwDiameter', 'screw diameter', '16', 'Outside diameter.', { unit: 'mm' }),
  field('line', 'lowRpm', 'slowest screw', '1', 'Slowest speed at which the drive runs evenly.', {
    unit: 'rpm',
  }),
  field('line', 'highRpm', 'fastest screw', '15', 'Fastest allowed speed.', { unit: 'rpm' }),
  field('target', 'diameter', 'diameter', '1.75', 'Target of the strand.', { unit: 'mm' }),
  field(
    'target',
    'tolerance',
    'tolerance, plus or minus',
    '0.05',
    'Half the width between the limits.',
    { unit: 'mm' },
  ),
  field(
    'target',
    'bubbles',
    'bubbles allowed',
    '1',
    'Most bubbles a metre that a good spool may have.',
    { unit: 'per metre' },
  ),
  field(
    'factors',
    'levelLow',
    'level from',
    '',
    'Level: mean of all zones. Empty: proposed from the grade.',
    { unit: '°C', isOptional: true },
  ),
  field(
    'factors',
    'levelHigh',
    'level to',
    '',
    'Aim to cover 60 to 80 % of the window that makes filament (common practice).',
    { unit: '°C', isOptional: true },
  ),
  field('factors', 'tiltLow', 'tilt from', '', 'Tilt: die end less feed end.', {
    unit: '°C',
    isOptional: true,
  }),
  field('factors', 'tiltHigh', 'tilt to', '', 'Empty: proposed.', { unit: '°C', isOptional: true }),
  field(
    'factors',
    'humpLow',
    'hump from',
    '',
    'Hump: middle less ends; positive when the middle is hottest.',
    { unit: '°C', isOptional: true },
  ),
  field('factors', 'humpHigh', 'hump to', '', 'Empty: proposed.', { unit: '°C', isOptional: true }),
  field('factors', 'screwLow', 'screw from', '', 'Empty: proposed.', {
    unit: 'rpm',
    isOptional: true,
  }),
  field(
    'factors',
    'screwHigh',
    'screw to',
    '',
    'Slow cells cost the most time: the barrel takes longest to flush.',
    { unit: 'rpm', isOptional: true },
  ),
  field('factors', 'fanLow', 'fan from', '', 'Empty: proposed.', { unit: '%', isOptional: true }),
  field('factors', 'fanHigh', 'fan to', '', 'Empty: proposed.', { unit: '%', isOptional: true }),
];

/** What is wrong with a typed value, or null. */
export function fieldProblem({ label, kind, isOptional }: Field, value: string): string | null {
  const text = value.trim();
  if (text === '') return isOptional ? null : `${label} is needed.`;
  if (kind === 'text') return null;
  const number = numberOf(text);
  if (!Number.isFinite(number)) return `${label} must be a number; got "${text}".`;
  return kind === 'whole' && !Number.isInteger(number)
    ? `${label} must be a whole number; got "${text}".`
    : null;
}

/** A typed number; a decimal comma is taken as a point. */
const numberOf = (text: string): number => Number(text.trim().replace(',', '.'));

export type Values = Readonly<Record<string, string>>;

export type Filled =
  | { readonly kind: 'description'; readonly description: StudyDescription }
  | { readonly kind: 'problem'; readonly field: string; readonly says: string };

/** The description that the typed values stand for, or the first thing wrong with them. */
export function filledDescription(values: Values): Filled {
  for (const each of fields) {
    const says = fieldProblem(each, values[each.key] ?? '');
    if (says !== null) return { kind: 'problem', field: each.key, says };
  }
  const at = (key: string): number => numberOf(values[key]!);
  const grade = Grade.safeParse({
    name: values['grade'],
    family: values['family'],
    floorCelsius: at('floor'),
    ceilingCelsius: at('ceiling'),
    solidDensityGPerCm3: at('solidDensity'),
    meltDensityGPerCm3: at('meltDensity'),
    sources: { floorCelsius: 'data sheet', ceilingCelsius: 'data sheet' },
  });
  if (!grade.success) return problem('ceiling', grade.error);
  const zones = at('zones');
  const line = Line.safeParse({
    name: values['line'],
    zones: Array.from({ length: zones }, (_, i) => ({
      name: zoneName(i, zones),
      heaterLimitCelsius: at('heaterLimit'),
    })),
    screw: { diameterMm: at('screwDiameter'), lowRpm: at('lowRpm'), highRpm: at('highRpm') },
  });
  if (!line.success) return problem(zones < 1 || zones > 8 ? 'zones' : 'highRpm', line.error);
  const product = Product.safeParse({
    diameterMm: at('diameter'),
    toleranceMm: at('tolerance'),
    mostBubblesPerMetre: at('bubbles'),
  });
  if (!product.success) return problem('tolerance', product.error);
  const factors = proposedFactors(grade.data, line.data).map((factor) => ({
    ...factor,
    low: rangeEnd(values[`${factor.name}Low`], factor.low),
    high: rangeEnd(values[`${factor.name}High`], factor.high),
  }));
  const description = StudyDescription.safeParse({
    name: values['name'],
    grade: grade.data,
    line: line.data,
    product: product.data,
    factors,
  });
  if (description.success) return { kind: 'description', description: description.data };
  const [, index] = description.error.issues[0]!.path;
  const name = typeof index === 'number' ? factors[index]?.name : undefined;
  return problem(name === undefined ? 'name' : `${name}High`, description.error);
}

/** Range ends that an empty field stands for, by field, as far as the answers so far tell. */
export function proposedEnds(values: Values): Readonly<Record<string, number>> {
  const required = fields.filter(({ isOptional }) => !isOptional);
  const known = Object.fromEntries(
    required.map(({ key, kind }) => [
      key,
      values[key]?.trim() || (kind === 'text' ? 'unnamed' : ''),
    ]),
  );
  const filled = filledDescription(known);
  if (filled.kind === 'problem') return {};
  return Object.fromEntries(
    (filled.description.factors ?? []).flatMap((factor) =>
      'low' in factor
        ? [
            [`${factor.name}Low`, factor.low],
            [`${factor.name}High`, factor.high],
          ]
        : [],
    ),
  );
}

const rangeEnd = (typed: string | undefined, proposed: number): number =>
  typed === undefined || typed.trim() === '' ? proposed : numberOf(typed);

const zoneName = (i: number, zones: number): string =>
  i === 0 ? 'feed' : i === zones - 1 ? 'die' : zones === 3 ? 'middle' : `middle ${i}`;

const problem = (key: string, error: z.ZodError): Filled => ({
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
