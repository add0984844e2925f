/** A number with at most `digits` significant figures, without an exponent where it can be helped. */
export function figures(value: number, digits = 3): string {
  if (!Number.isFinite(value)) return '—';
  if (value === 0) return '0';
  const size = Math.floor(Math.log10(Math.abs(value)));
  if (size < -4 || size > 6) return value.toExponential(digits - 1);
  const decimals = Math.max(0, digits - 1 - size);
  const text = value.toFixed(decimals);
  return decimals > 0 && Math.abs(value) >= 10 ** (digits - 1) ? String(Number(text)) : text;
}

/** A value rounded to the decimals that its uncertainty justifies: two figures of the uncertainty. */
export function withinDoubt(
  value: number,
  low: number | null,
  high: number | null,
  digits = 3,
): string {
  if (low === null || high === null || !Number.isFinite(low) || !Number.isFinite(high))
    return figures(value, digits);
  const decimals = decimalsFor(high - low);
  return `${value.toFixed(decimals)} (${low.toFixed(decimals)} … ${high.toFixed(decimals)})`;
}

/** Decimals that show two figures of a width. */
export function decimalsFor(width: number): number {
  if (!(width > 0)) return 3;
  return Math.max(0, Math.min(6, 1 - Math.floor(Math.log10(width))));
}

/** A share as a signed percentage. */
export const percent = (share: number): string =>
  `${Math.round(100 * share) === 0 ? '' : share > 0 ? '+' : '−'}${Math.abs(100 * share).toFixed(0)} %`;

/** A p value as a person reads it. */
export function pValue(p: number | null): string {
  if (p === null) return '';
  return p < 0.001 ? '< 0.001' : p.toFixed(3);
}
