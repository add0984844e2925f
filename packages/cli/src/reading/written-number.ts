/** A mark between whole and fraction. */
export type DecimalMark = '.' | ',';

const exponent = '(?:e[+-]?\\d+)?';
const plain = new RegExp(`^[+-]?(?:\\d+\\.?\\d*|\\.\\d+)${exponent}$`, 'i');
const comma = new RegExp(`^[+-]?\\d*,\\d+${exponent}$`, 'i');
/** Thousands in groups, with or without a fraction. */
const groupedByComma = /^[+-]?\d{1,3}(,\d{3})+(\.\d+)?$/;
const groupedByDot = /^[+-]?\d{1,3}(\.\d{3})+(,\d+)?$/;
const groupedBySpace = /^[+-]?\d{1,3}([ '’]\d{3})+([.,]\d+)?$/;
/** Could be thousands as well as a fraction of three digits. */
const eitherWay = /^[+-]?[1-9]\d{0,2}[.,]\d{3}$/;

/** The spellings of a number brought to one: a plain minus, plain spaces. */
const tidy = (text: string): string =>
  text
    .trim()
    .replace(/^[−–]/, '-')
    .replace(/[\u00a0\u2009\u202f]/g, ' ');

/** Which decimal mark an entry shows beyond doubt; null when it shows none, or could be read in two ways. */
export function shownMark(entry: string): DecimalMark | null {
  const text = tidy(entry);
  if (eitherWay.test(text)) return null;
  if (groupedByComma.test(text)) return '.';
  if (groupedByDot.test(text)) return ',';
  if (groupedBySpace.test(text)) return text.includes(',') ? ',' : text.includes('.') ? '.' : null;
  if (plain.test(text)) return text.includes('.') ? '.' : null;
  return comma.test(text) ? ',' : null;
}

/** True for "1,234" and "1.234", which mean two things until the decimal mark is known. */
export const isEitherWay = (entry: string): boolean => eitherWay.test(tidy(entry));

/**
 * The number an entry stands for under a decimal mark; null when it is none, also beyond the range
 * of numbers.
 */
export function writtenNumber(entry: string, mark: DecimalMark): number | null {
  const text = tidy(entry);
  const grouped = mark === '.' ? groupedByComma : groupedByDot;
  const isNumber =
    (mark === '.' ? plain : comma).test(text) ||
    (mark === ',' && plain.test(text) && !text.includes('.')) ||
    grouped.test(text) ||
    (groupedBySpace.test(text) && !text.includes(mark === '.' ? ',' : '.'));
  if (!isNumber) return null;
  const bare = text.replace(/[ '’]/g, '').replaceAll(mark === '.' ? ',' : '.', '');
  const value = Number(bare.replace(',', '.'));
  return Number.isFinite(value) ? value : null;
}
