import { type Field, type FieldUnit, LineFormat } from '@strandwise/gauge';

/** A line format in words that a person can read, change and give back. */
export function formatWords({ time, fields, delimiter, decimalMark, pattern }: LineFormat): string {
  const when =
    time.from === 'column'
      ? `time ${time.column} ${time.as}`
      : time.from === 'step'
        ? `time every ${time.seconds} s`
        : 'time arrival';
  return [
    when,
    ...fields.map(({ column, means, unit, zone }) => `${means}${zone ?? ''} ${column} ${unit}`),
    pattern === undefined
      ? `separator ${separatorWords[delimiter ?? 'none'] ?? 'none'}`
      : `pattern ${pattern}`,
    `decimal ${decimalMark === ',' ? 'comma' : 'point'}`,
  ].join('; ');
}

const separatorWords: Readonly<Record<string, string>> = {
  ',': 'comma',
  ';': 'semicolon',
  '\t': 'tab',
  ' ': 'space',
  '|': 'bar',
  none: 'none',
};
const separators = new Map(
  Object.entries(separatorWords).map(([mark, word]) => [word, mark === 'none' ? undefined : mark]),
);
const unitWords: Readonly<Record<string, FieldUnit>> = { c: '°C', f: '°F', um: 'µm', μm: 'µm' };

export type FormatFromWords =
  | { readonly kind: 'format'; readonly format: LineFormat }
  | { readonly kind: 'wrong'; readonly says: string };

/** Reads what `formatWords` writes, with plain letters for units (um, C) allowed. */
export function formatFromWords(words: string): FormatFromWords {
  const parts: Record<string, unknown> = { time: { from: 'arrival' } };
  const fields: Partial<Field>[] = [];
  for (const item of words.split(';').map((part) => part.trim())) {
    if (item === '') continue;
    const [name = '', first = '', second = ''] = item.split(/\s+/);
    const field = /^(diameter|axis|ovality|puller|zone)(\d)?$/.exec(name);
    if (field) fields.push(fieldOf(field[1] as Field['means'], field[2], first, second));
    else if (name === 'time') parts['time'] = timeOf(first, second);
    else if (name === 'separator') parts['delimiter'] = separators.get(first) ?? first;
    else if (name === 'decimal') parts['decimalMark'] = first === 'comma' ? ',' : '.';
    else if (name === 'pattern') parts['pattern'] = item.slice('pattern '.length);
    else
      return {
        kind: 'wrong',
        says: `"${name}" is not known. Use time, diameter, axis, ovality, puller, zone1 …, separator, decimal or pattern.`,
      };
  }
  if (parts['delimiter'] === 'none' || parts['delimiter'] === undefined) delete parts['delimiter'];
  const parsed = LineFormat.safeParse({ ...parts, fields });
  if (parsed.success) return { kind: 'format', format: parsed.data };
  const issue = parsed.error.issues[0]!;
  return { kind: 'wrong', says: `${issue.path.join('.')}: ${issue.message}` };
}

function fieldOf(
  means: Field['means'],
  zone: string | undefined,
  column: string,
  unit: string,
): Partial<Field> {
  return {
    column: Number(column),
    means,
    unit: unitWords[unit.toLowerCase()] ?? (unit as FieldUnit),
    ...(zone === undefined ? {} : { zone: Number(zone) }),
  };
}

function timeOf(first: string, second: string): object {
  if (first === 'arrival') return { from: 'arrival' };
  if (first === 'every') return { from: 'step', seconds: Number(second) };
  return { from: 'column', column: Number(first), as: second };
}
