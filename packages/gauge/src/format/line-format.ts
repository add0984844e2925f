import { z } from 'zod';

/** What a column can mean. `axis` is one diameter of a two-axis gauge. */
export const FieldMeaning = z.enum(['diameter', 'axis', 'ovality', 'puller', 'zone']);
export type FieldMeaning = z.infer<typeof FieldMeaning>;

export const FieldUnit = z.enum([
  'mm',
  'µm',
  'inch',
  'mm/s',
  'mm/min',
  'm/min',
  'm/s',
  'inch/s',
  '°C',
  '°F',
  'K',
]);
export type FieldUnit = z.infer<typeof FieldUnit>;

export const TimeWriting = z.enum([
  'seconds',
  'milliseconds',
  'minutes',
  'iso',
  'clock',
  'day-month-year',
  'month-day-year',
]);
export type TimeWriting = z.infer<typeof TimeWriting>;

const Column = z.int().positive();

/**
 * How one gauge writes a line, described once. Columns count from 1. With `pattern`, a regular
 * expression, they count its bracketed groups. Time comes from a column, from the moment a line
 * arrives, or from a fixed step.
 */
export const LineFormat = z
  .strictObject({
    name: z.string().min(1).max(60).optional(),
    delimiter: z.enum([',', ';', '\t', ' ', '|']).optional(),
    pattern: z.string().min(1).max(500).optional(),
    decimalMark: z.enum(['.', ',']).default('.'),
    /** Lines above the first reading, header included. */
    headerLines: z.int().nonnegative().default(0),
    /** Fields a whole line has; a line with another number is ragged and kept apart. */
    fieldCount: z.int().positive().optional(),
    time: z.discriminatedUnion('from', [
      z.strictObject({ from: z.literal('column'), column: Column, as: TimeWriting }),
      z.strictObject({ from: z.literal('arrival') }),
      z.strictObject({ from: z.literal('step'), seconds: z.number().positive() }),
    ]),
    fields: z
      .array(
        z.strictObject({
          column: Column,
          means: FieldMeaning,
          unit: FieldUnit,
          /** Zone number from the feed end, from 1. */
          zone: z.int().positive().max(8).optional(),
        }),
      )
      .min(1)
      .max(16),
  })
  .check((context) => {
    for (const [path, message] of faultsOf(context.value)) {
      context.issues.push({ code: 'custom', input: context.value, path: [path], message });
    }
  });
export type LineFormat = z.infer<typeof LineFormat>;
export type Field = LineFormat['fields'][number];

const UNITS: Record<FieldMeaning, readonly FieldUnit[]> = {
  diameter: ['mm', 'µm', 'inch'],
  axis: ['mm', 'µm', 'inch'],
  ovality: ['mm', 'µm', 'inch'],
  puller: ['mm/s', 'mm/min', 'm/min', 'm/s', 'inch/s'],
  zone: ['°C', '°F', 'K'],
};

function faultsOf(format: {
  delimiter?: string | undefined;
  pattern?: string | undefined;
  decimalMark: string;
  time: { from: string; column?: number };
  fields: readonly {
    column: number;
    means: FieldMeaning;
    unit: FieldUnit;
    zone?: number | undefined;
  }[];
}): [string, string][] {
  const faults: [string, string][] = [];
  const { delimiter, pattern, decimalMark, fields, time } = format;
  if (delimiter !== undefined && pattern !== undefined) {
    faults.push(['pattern', 'a line has a delimiter or a pattern, not both. Leave one out.']);
  }
  if (pattern !== undefined && !isRegularExpression(pattern)) {
    faults.push([
      'pattern',
      `pattern must be a regular expression; got ${pattern}. Close its brackets.`,
    ]);
  }
  if (delimiter === ',' && decimalMark === ',') {
    faults.push([
      'decimalMark',
      'the decimal mark must differ from the delimiter; got "," for both.',
    ]);
  }
  const columns = [...fields.map((f) => f.column), ...(time.column ? [time.column] : [])];
  if (new Set(columns).size < columns.length) {
    faults.push(['fields', `a column must be used once; got ${columns.join(', ')}.`]);
  }
  for (const { means, unit, column } of fields) {
    if (!UNITS[means].includes(unit)) {
      faults.push([
        'fields',
        `column ${column} (${means}) must be in ${UNITS[means].join(', ')}; got ${unit}.`,
      ]);
    }
  }
  const roles = fields.map((f) => (f.means === 'zone' ? `zone ${f.zone ?? '?'}` : f.means));
  const count = (role: string): number => roles.filter((r) => r === role).length;
  const axes = count('axis');
  if (count('diameter') + axes === 0) faults.push(['fields', 'one column must be the diameter.']);
  if (axes !== 0 && axes !== 2) faults.push(['fields', `a gauge has two axes; got ${axes}.`]);
  for (const role of new Set(roles)) {
    if (role !== 'axis' && count(role) > 1) faults.push(['fields', `${role} must come once.`]);
  }
  return faults;
}

function isRegularExpression(pattern: string): boolean {
  try {
    new RegExp(pattern);
    return true;
  } catch {
    return false;
  }
}
