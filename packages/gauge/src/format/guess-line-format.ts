import {
  type FoundField,
  isDiameter,
  type Roles,
  rolesOfHeader,
  rolesOfValues,
  unitBySize,
} from './column-roles.ts';
import { cellOf } from './decimal.ts';
import { type Field, type FieldUnit, LineFormat } from './line-format.ts';
import { type Mark, type Shape, shapeOf, timeWritingOf } from './log-shape.ts';
import { timeStampSeconds } from './time-stamp.ts';

/** A format read off the first lines of a log, with what a person should confirm. */
export type FormatGuess =
  | {
      readonly kind: 'guess';
      readonly format: LineFormat;
      /** Each a sentence; empty when the header said everything. */
      readonly unsure: readonly string[];
    }
  | {
      readonly kind: 'no-guess';
      readonly code: 'missing_column' | 'duplicate_column' | 'unclear_format';
      /** Line the trouble is in, from 1. */
      readonly line: number;
      readonly column?: number;
      readonly got: string;
      readonly says: string;
    };

/**
 * Reads the format of a log off its first lines: delimiter, decimal mark, header, units, how time is
 * written. What the lines do not settle is guessed by size and said in `unsure`.
 *
 * @param lines - the first lines of the log, ten or more if there are as many
 */
export function guessLineFormat(lines: readonly string[]): FormatGuess {
  const shape = shapeOf(lines);
  if (shape === undefined) {
    return {
      kind: 'no-guess',
      code: 'unclear_format',
      line: 1,
      got: (lines[0] ?? '').slice(0, 60),
      says: 'no line holds a number in a column of its own. Describe the line with a pattern.',
    };
  }
  const unsure = [...shape.unsure];
  const header = shape.header;
  const roles = header === undefined ? undefined : rolesOfHeader(header.cells);
  if (roles && 'duplicate' in roles) {
    const [a, b] = roles.duplicate;
    return {
      kind: 'no-guess',
      code: 'duplicate_column',
      line: header!.line,
      column: b + 1,
      got: `"${header!.cells[a]}" and "${header!.cells[b]}"`,
      says: `two columns mean the ${roles.means}. Say which one to use.`,
    };
  }
  // Names that say something else are believed: a pressure may have the size of a diameter.
  const found = roles ?? rolesOfValues(shape);
  if (found === undefined || !found.fields.some((f) => isDiameter(f.means))) {
    return {
      kind: 'no-guess',
      code: 'missing_column',
      line: header?.line ?? shape.firstRow + 1,
      got: header ? header.cells.join(' | ') : shape.rows[0]!.join(' | '),
      says: 'no column is called a diameter, or without a header looks like one. Say which column it is.',
    };
  }
  if (roles === undefined) {
    unsure.push('there is no header, so columns were told by their values');
  }
  return assembled(shape, found, unsure);
}

function assembled(shape: Shape, roles: Roles, unsure: string[]): FormatGuess {
  const { delimiter, mark, rows } = shape;
  const numbers = (j: number): number[] =>
    rows.flatMap((row) => {
      const cell = cellOf(row[j]!, mark);
      return cell.kind === 'number' ? [cell.value] : [];
    });
  const fields = roles.fields.map((f): Field => {
    const unit = f.unit ?? unsaidUnit(f, numbers(f.column), unsure);
    return {
      column: f.column + 1,
      means: f.means,
      unit,
      ...(f.zone !== undefined && { zone: f.zone }),
    };
  });
  const format = LineFormat.safeParse({
    ...(delimiter !== undefined && { delimiter }),
    decimalMark: mark,
    headerLines: shape.firstRow,
    fieldCount: shape.width,
    time: timeOf(shape, roles, unsure),
    fields,
  });
  if (format.success) return { kind: 'guess', format: format.data, unsure };
  return {
    kind: 'no-guess',
    code: 'unclear_format',
    line: shape.header?.line ?? 1,
    got: shape.header?.cells.join(' | ') ?? rows[0]!.join(' | '),
    says: format.error.issues[0]?.message ?? 'the columns contradict one another.',
  };
}

function unsaidUnit(field: FoundField, values: readonly number[], unsure: string[]): FieldUnit {
  const name = `column ${field.column + 1} (${field.means})`;
  if (field.means === 'puller') {
    unsure.push(`${name} names no unit; taken as mm/s`);
    return 'mm/s';
  }
  if (field.means === 'zone') {
    unsure.push(`${name} names no unit; taken as °C`);
    return '°C';
  }
  const unit = field.means === 'ovality' ? ovalityUnit(values) : (unitBySize(values) ?? 'mm');
  unsure.push(`${name} names no unit; taken as ${unit} by its size`);
  return unit;
}

function ovalityUnit(values: readonly number[]): FieldUnit {
  const known = [...values].sort((a, b) => a - b);
  return (known[known.length >> 1] ?? 0) >= 1 ? 'µm' : 'mm';
}

function timeOf({ rows, mark }: Shape, roles: Roles, unsure: string[]): LineFormat['time'] {
  const j = roles.timeColumn;
  if (j === undefined) {
    unsure.push('no column holds a time; one reading a second was taken');
    return { from: 'step', seconds: 1 };
  }
  const texts = rows.map((row) => row[j]!);
  const writing = timeWritingOf(texts, mark);
  if (writing === 'day-month-year' && timeWritingOf(texts, mark) === writing) {
    const isEither = texts.every((t) => timeStampSeconds(t, 'month-day-year', mark) !== undefined);
    if (isEither && /\//.test(texts[0]!)) unsure.push('the date was taken as day before month');
  }
  if (writing !== undefined) return { from: 'column', column: j + 1, as: writing };
  if (roles.timeUnit === undefined) {
    unsure.push(
      `column ${j + 1} (time) names no unit; taken as ${plainTime(texts, mark)} by its step`,
    );
  }
  return { from: 'column', column: j + 1, as: roles.timeUnit ?? plainTime(texts, mark) };
}

/** Steps of 50 or more between readings are milliseconds: no gauge logs once a minute. */
function plainTime(texts: readonly string[], mark: Mark): 'seconds' | 'milliseconds' {
  const times = texts.map((t) => timeStampSeconds(t, 'seconds', mark) ?? Number.NaN);
  const steps = times.slice(1).map((t, i) => t - times[i]!);
  const middle = steps.sort((a, b) => a - b)[steps.length >> 1] ?? 1;
  return middle >= 50 ? 'milliseconds' : 'seconds';
}
