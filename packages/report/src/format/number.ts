/** True minus, U+2212: as wide as a plus sign, and never broken from its number. */
export const minus = '−';
/** Narrow no-break space, U+202F. */
export const thinSpace = '\u202f';
/** What stands where there is no number. */
export const noNumber = '—';

const superscripts: Readonly<Record<string, string>> = {
  '-': '⁻',
  '0': '⁰',
  '1': '¹',
  '2': '²',
  '3': '³',
  '4': '⁴',
  '5': '⁵',
  '6': '⁶',
  '7': '⁷',
  '8': '⁸',
  '9': '⁹',
};

/** `x` with `decimals` digits after the point and a true minus; NaN and ±Infinity give '—'. */
export function fixed(x: number, decimals: number): string {
  if (!Number.isFinite(x)) return noNumber;
  const text = x.toFixed(Math.min(20, Math.max(0, decimals)));
  return Number(text) === 0 ? text.replace('-', '') : text.replace('-', minus);
}

/**
 * `x` with exactly `digits` significant figures and a true minus sign; NaN and ±Infinity give '—'.
 * Below 0.0001 and from 1 000 000 it is a power of ten: "1.20 × 10⁻⁵".
 *
 * @example significantFigures(-0.012345, 3) // "−0.0123"
 */
export function significantFigures(x: number, digits: number): string {
  if (!Number.isFinite(x)) return noNumber;
  if (x === 0) return '0';
  const size = Math.abs(Number(x.toPrecision(digits)));
  if (size < 1e-4 || size >= 1e6) return powerOfTen(x, digits);
  const exponent = Math.floor(Math.log10(size) + 1e-12);
  if (exponent >= digits) return fixed(Number(x.toPrecision(digits)), 0);
  return fixed(Number(x.toPrecision(digits)), digits - 1 - exponent);
}

function powerOfTen(x: number, digits: number): string {
  const [mantissa = '', exponent = ''] = x.toExponential(digits - 1).split('e');
  const power = [...exponent.replace('+', '')].map((c) => superscripts[c] ?? c).join('');
  return `${mantissa.replace('-', minus)} × 10${power}`;
}

/** `fixed` with its sign always shown, except for a zero. */
export function signed(x: number, decimals: number): string {
  const text = fixed(x, decimals);
  return x > 0 && Number(text) !== 0 && Number.isFinite(x) ? `+${text}` : text;
}

/** A p-value to two figures, three decimals at most four: "0.41", "0.032", "0.0004", "< 0.0001". */
export function probabilityValue(p: number): string {
  if (!Number.isFinite(p)) return noNumber;
  if (p < 0.0001) return '< 0.0001';
  if (p > 0.9999) return '> 0.9999';
  return fixed(p, p < 0.001 ? 4 : p < 0.1 ? 3 : 2);
}

/** Decimals that show `digits` significant figures of `x`; negative places count as none. */
export function decimalsFor(x: number, digits: number): number {
  const size = Math.abs(x);
  if (!Number.isFinite(size) || size === 0) return 0;
  const exponent = Math.floor(Math.log10(Number(size.toPrecision(digits))) + 1e-12);
  return Math.min(12, Math.max(0, digits - 1 - exponent));
}

/** A number with thin spaces between thousands from 10 000 on: "12 500". */
export function grouped(x: number, decimals = 0): string {
  const text = fixed(x, decimals);
  const [whole = '', part] = text.split('.');
  if (whole.replace(minus, '').length < 5) return text;
  const spaced = whole.replace(/\B(?=(\d{3})+$)/g, thinSpace);
  return part === undefined ? spaced : `${spaced}.${part}`;
}
