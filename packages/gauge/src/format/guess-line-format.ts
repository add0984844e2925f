import { cellOf } from './decimal.ts';
import { headerName } from './header-name.ts';
import { type Field, type FieldUnit, LineFormat, type TimeWriting } from './line-format.ts';
import { splitCells } from './line-reader.ts';
import { timeStampSeconds } from './time-stamp.ts';

type Delimiter = NonNullable<LineFormat['delimiter']>;
type Mark = LineFormat['decimalMark'];

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

interface Shape {
  readonly delimiter: Delimiter | undefined;
  readonly mark: Mark;
  readonly width: number;
  /** Rows of cells, from the first reading on. */
  readonly rows: readonly (readonly string[])[];
  /** Position of the first reading among the lines, from 0. */
  readonly firstRow: number;
  readonly header?: { readonly line: number; readonly cells: readonly string[] };
  readonly unsure: readonly string[];
}

const DELIMITERS: readonly Delimiter[] = ['\t', ';', '|', ',', ' '];

function shapeOf(lines: readonly string[]): Shape | undefined {
  const options = [...DELIMITERS, undefined].flatMap((delimiter) =>
    marksFor(delimiter).map((mark) => shapeWith(lines, delimiter, mark)),
  );
  let best: { shape: Shape; score: number } | undefined;
  for (const option of options) {
    if (option && (best === undefined || option.score > best.score + 1e-9)) best = option;
  }
  return best?.shape;
}

function marksFor(delimiter: Delimiter | undefined): readonly Mark[] {
  return delimiter === ',' ? ['.'] : ['.', ','];
}

/** Scores a delimiter and mark by the share of lines that are rows of numbers of one width. */
function shapeWith(
  lines: readonly string[],
  delimiter: Delimiter | undefined,
  mark: Mark,
): { shape: Shape; score: number } | undefined {
  const cells = lines.map((line) =>
    delimiter === undefined ? [line] : splitCells(line, delimiter),
  );
  const isReadable = (row: readonly string[]): boolean =>
    row.some((cell) => cellOf(cell, mark).kind === 'number');
  const width = commonWidth(cells.filter(isReadable));
  if (width === 0 || (delimiter !== undefined && width < 2)) return undefined;
  const firstRow = cells.findIndex((row) => row.length === width && isReadable(row));
  if (firstRow < 0) return undefined;
  const body = cells.slice(firstRow).filter((row) => row.join('').trim() !== '');
  const rows = body.filter((row) => row.length === width && isReadable(row));
  const headerCells = firstRow > 0 ? cells[firstRow - 1]! : undefined;
  const isHeader = headerCells?.length === width && headerCells.some((c) => /\p{L}/u.test(c));
  const unsure: string[] = [];
  let score =
    (rows.length / body.length) * valueShare(rows, mark) +
    (isHeader ? 0.5 : 0) +
    (delimiter === ' ' ? -0.05 : 0.1);
  if (delimiter === ',' && !isHeader && looksLikeDecimalComma(rows)) {
    score -= 0.6;
  }
  if (delimiter === undefined && mark === ',') {
    unsure.push('the comma was taken as a decimal mark, not as a delimiter');
  }
  return {
    score,
    shape: {
      delimiter,
      mark,
      width,
      rows,
      firstRow,
      ...(isHeader && { header: { line: firstRow, cells: headerCells! } }),
      unsure,
    },
  };
}

/** Share of cells that are values; a column of words such as "OK" only lowers it. */
function valueShare(rows: readonly (readonly string[])[], mark: Mark): number {
  const cells = rows.flat();
  return cells.filter((cell) => isValueLike(cell, mark)).length / cells.length;
}

/** Two whole numbers a line, the second always of one length: `1,752` is one number. */
function looksLikeDecimalComma(rows: readonly (readonly string[])[]): boolean {
  const lengths = new Set(rows.map((row) => row[1]?.trim().length));
  return (
    rows.every(
      (row) => row.length === 2 && /^\s*\d{1,2}$/.test(row[0]!) && /^\d+\s*$/.test(row[1]!),
    ) && lengths.size === 1
  );
}

function commonWidth(rows: readonly (readonly string[])[]): number {
  const counts = new Map<number, number>();
  for (const row of rows) counts.set(row.length, (counts.get(row.length) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0] ?? 0;
}

function isValueLike(cell: string, mark: Mark): boolean {
  return (
    cellOf(cell, mark).kind !== 'text' || timeWritingOf([cell], mark) !== undefined || isDate(cell)
  );
}

const WRITINGS: readonly TimeWriting[] = ['iso', 'clock', 'day-month-year', 'month-day-year'];

/** The way in which all the cells write a time, or undefined. Plain numbers are not told here. */
function timeWritingOf(cells: readonly string[], mark: Mark): TimeWriting | undefined {
  return WRITINGS.find((as) => cells.every((c) => timeStampSeconds(c, as, mark) !== undefined));
}

function isDate(cell: string): boolean {
  return /^\s*(\d{4}-\d\d-\d\d|\d{1,2}[./]\d{1,2}[./]\d{4})\s*$/.test(cell);
}

function isDiameter(means: string): boolean {
  return means === 'diameter' || means === 'axis';
}

interface FoundField {
  readonly column: number;
  readonly means: Field['means'];
  readonly unit?: FieldUnit;
  readonly zone?: number;
}

interface Roles {
  readonly timeColumn?: number;
  readonly timeUnit?: 'seconds' | 'milliseconds' | 'minutes';
  readonly fields: readonly FoundField[];
}

function rolesOfHeader(
  cells: readonly string[],
): Roles | { readonly duplicate: readonly [number, number]; readonly means: string } {
  const fields: FoundField[] = [];
  const firstAt = new Map<string, number>();
  let timeColumn: number | undefined;
  let timeUnit: Roles['timeUnit'];
  for (const [j, cell] of cells.entries()) {
    const name = headerName(cell);
    if (name.kind === 'other' || name.kind === 'date') continue;
    const role =
      name.kind === 'time' ? 'time' : name.means === 'zone' ? `zone ${name.zone}` : name.means;
    const isSecondAxis = role === 'axis' && fields.filter((f) => f.means === 'axis').length < 2;
    if (firstAt.has(role) && !isSecondAxis)
      return { duplicate: [firstAt.get(role)!, j], means: role };
    firstAt.set(role, j);
    if (name.kind === 'time') {
      timeColumn = j;
      timeUnit = name.unit;
    } else {
      const { kind: _, ...rest } = name;
      fields.push({ column: j, ...rest });
    }
  }
  const axes = fields.filter((f) => f.means === 'axis');
  const whole =
    axes.length === 1 && !fields.some((f) => f.means === 'diameter')
      ? fields.map((f) => (f.means === 'axis' ? { ...f, means: 'diameter' as const } : f))
      : axes.length === 1
        ? fields.filter((f) => f.means !== 'axis')
        : fields;
  return {
    fields: whole,
    ...(timeColumn !== undefined && { timeColumn }),
    ...(timeUnit !== undefined && { timeUnit }),
  };
}

/** Without names: time is the first column that rises or is written as a time, then a diameter. */
function rolesOfValues({ rows, width, mark }: Shape): Roles | undefined {
  let timeColumn: number | undefined;
  let diameter: number | undefined;
  for (let j = 0; j < width; j++) {
    const texts = rows.map((row) => row[j]!);
    if (width > 1 && timeColumn === undefined && timeWritingOf(texts, mark) !== undefined) {
      timeColumn = j;
      continue;
    }
    const values = texts.map((text) => {
      const cell = cellOf(text, mark);
      return cell.kind === 'number' ? cell.value : Number.NaN;
    });
    const isRising =
      width > 1 && values.length > 1 && values.every((v, i) => i === 0 || v > values[i - 1]!);
    if (timeColumn === undefined && isRising) timeColumn = j;
    else if (diameter === undefined && unitBySize(values) !== undefined) diameter = j;
  }
  if (diameter === undefined) return undefined;
  return {
    fields: [{ column: diameter, means: 'diameter' }],
    ...(timeColumn !== undefined && { timeColumn }),
  };
}

/** The unit in which the numbers are a strand of 0.5 to 6 mm. */
function unitBySize(values: readonly number[]): 'mm' | 'µm' | 'inch' | undefined {
  const known = values.filter((v) => !Number.isNaN(v)).sort((a, b) => a - b);
  const middle = known[known.length >> 1];
  if (middle === undefined) return undefined;
  if (middle >= 0.5 && middle <= 6) return 'mm';
  if (middle >= 500 && middle <= 6000) return 'µm';
  return middle >= 0.02 && middle <= 0.24 ? 'inch' : undefined;
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
