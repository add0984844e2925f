import { cellOf } from './decimal.ts';
import { headerName } from './header-name.ts';
import type { Field, FieldUnit } from './line-format.ts';
import { type Shape, timeWritingOf } from './log-shape.ts';

export function isDiameter(means: string): boolean {
  return means === 'diameter' || means === 'axis';
}

export interface FoundField {
  readonly column: number;
  readonly means: Field['means'];
  readonly unit?: FieldUnit;
  readonly zone?: number;
}

/** What the columns mean, as far as header or values tell; columns count from 0. */
export interface Roles {
  readonly timeColumn?: number;
  readonly timeUnit?: 'seconds' | 'milliseconds' | 'minutes';
  readonly fields: readonly FoundField[];
}

/** Columns told by their names. */
export function rolesOfHeader(
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
export function rolesOfValues({ rows, width, mark }: Shape): Roles | undefined {
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
export function unitBySize(values: readonly number[]): 'mm' | 'µm' | 'inch' | undefined {
  const known = values.filter((v) => !Number.isNaN(v)).sort((a, b) => a - b);
  const middle = known[known.length >> 1];
  if (middle === undefined) return undefined;
  if (middle >= 0.5 && middle <= 6) return 'mm';
  if (middle >= 500 && middle <= 6000) return 'µm';
  return middle >= 0.02 && middle <= 0.24 ? 'inch' : undefined;
}
