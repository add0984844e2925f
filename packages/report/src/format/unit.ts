import { thinSpace } from './number.ts';

/**
 * A number and its unit, kept on one line by a narrow no-break space. The percent sign takes the
 * space too; only the signs of plane angle do not.
 *
 * @source SI Brochure, 9th ed. (2019), 5.4.3: a space before the unit, except ° ′ ″
 * @example withUnit('194', '°C') // "194 °C"
 */
export function withUnit(text: string, unit: string | undefined): string {
  if (unit === undefined || unit === '' || unit === '1') return text;
  if (/^[°′″]$/.test(unit)) return text + unit;
  return `${text}${thinSpace}${unbroken(unit)}`;
}

/** A text that stays on one line. */
export const unbroken = (text: string): string => text.replaceAll(' ', '\u00a0');

/**
 * A quantity's name with its unit, for heads of columns and axes: "SD of diameter in mm", "bubbles
 * per m".
 */
export function nameInUnit(name: string, unit: string | undefined): string {
  // "zone 3" stays together even in a narrow column.
  const words = name.replace(/ (\d+)$/, '\u00a0$1');
  if (unit === undefined || unit === '' || unit === '1') return words;
  return unit.startsWith('per ')
    ? `${words} ${unbroken(unit)}`
    : `${words} in\u00a0${unbroken(unit)}`;
}
