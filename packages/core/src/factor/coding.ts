import { DomainError } from '../error/domain-error.ts';
import type { Factor, NumericFactor } from './factor.ts';
import { isNamed } from './factor-kind.ts';

/**
 * One setting of every factor. A number for a numeric factor, a level's name for a named one.
 * Whether the numbers are coded or natural is said by whoever holds the point.
 */
export type Point = Readonly<Record<string, number | string>>;

/**
 * Coded value of a natural one: low ↦ −1, high ↦ +1, linear between and beyond.
 *
 * @param value - natural units of the factor
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, section 5.3.3.3.1 (coded variables)
 * @example codedValue(200, { name: 'level', low: 190, high: 210, changes: 'hard' }) // 0
 */
export function codedValue(value: number, { low, high }: NumericFactor): number {
  return (2 * value - low - high) / (high - low);
}

/** Natural value of a coded one; the inverse of `codedValue`. */
export function naturalValue(coded: number, { low, high }: NumericFactor): number {
  return (low + high) / 2 + (coded * (high - low)) / 2;
}

/** A natural point in coded units; named levels pass through. */
export function codedPoint(natural: Point, factors: readonly Factor[]): Point {
  return mapPoint(natural, factors, codedValue, 'codedPoint');
}

/** A coded point in natural units; named levels pass through. */
export function naturalPoint(coded: Point, factors: readonly Factor[]): Point {
  return mapPoint(coded, factors, naturalValue, 'naturalPoint');
}

function mapPoint(
  point: Point,
  factors: readonly Factor[],
  convert: (value: number, factor: NumericFactor) => number,
  operation: string,
): Point {
  const out: Record<string, number | string> = {};
  for (const factor of factors) {
    const value = point[factor.name];
    if (isNamed(factor)) {
      out[factor.name] = levelOf(value, factor, operation);
    } else if (typeof value === 'number') {
      out[factor.name] = convert(value, factor);
    } else {
      throw new DomainError(
        'missing_setting',
        `${operation}: factor "${factor.name}" must have a number; got ${JSON.stringify(value) ?? 'nothing'}. Give every factor a setting.`,
        { factor: factor.name },
      );
    }
  }
  return out;
}

function levelOf(
  value: number | string | undefined,
  factor: { readonly name: string; readonly levels: readonly string[] },
  operation: string,
): string {
  if (typeof value === 'string' && factor.levels.includes(value)) return value;
  throw new DomainError(
    'unknown_level',
    `${operation}: factor "${factor.name}" must be one of ${factor.levels.join(', ')}; got ${JSON.stringify(value) ?? 'nothing'}. Use one of these levels.`,
    { factor: factor.name, levels: factor.levels },
  );
}
