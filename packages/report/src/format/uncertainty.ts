import { decimalsFor, fixed, noNumber, signed, significantFigures } from './number.ts';
import { withUnit } from './unit.ts';

/**
 * A value and its standard uncertainty, "100.021 47 ± 0.000 35" without the gaps: the uncertainty
 * has two significant digits and decides where the value stops.
 *
 * @source JCGM 100:2008 (GUM), 7.2.6: at most two significant digits of the uncertainty, estimates
 *   rounded to match it
 */
export function withUncertainty(value: number, standardError: number, unit?: string): string {
  if (!Number.isFinite(value)) return noNumber;
  if (!(standardError > 0) || !Number.isFinite(standardError)) {
    return withUnit(significantFigures(value, 3), unit);
  }
  const decimals = decimalsFor(standardError, 2);
  return withUnit(`${fixed(value, decimals)} ± ${fixed(standardError, decimals)}`, unit);
}

/** Decimals at which the half-width of an interval has two significant digits. */
export function intervalDecimals(low: number, high: number): number {
  return decimalsFor(Math.abs(high - low) / 2, 2);
}

/** "0.0084 … 0.0115": the width of the interval decides the digits. */
export function interval(low: number, high: number, decimals?: number): string {
  const places = decimals ?? placesOf(low, high);
  return `${fixed(low, places)} … ${fixed(high, places)}`;
}

/** `interval` with signs, for changes: "−24 … +13". */
export function signedInterval(low: number, high: number, decimals?: number): string {
  const places = decimals ?? placesOf(low, high);
  return `${signed(low, places)} … ${signed(high, places)}`;
}

/** An estimate with the interval around it: "0.0098 mm (0.0084 … 0.0115)". */
export function estimateWithInterval(
  {
    estimate,
    low,
    high,
  }: { readonly estimate: number; readonly low: number; readonly high: number },
  unit?: string,
): string {
  const places = placesOf(low, high);
  return `${withUnit(fixed(estimate, places), unit)} (${interval(low, high, places)})`;
}

function placesOf(low: number, high: number): number {
  if (Number.isFinite(low) && Number.isFinite(high) && low !== high) {
    return intervalDecimals(low, high);
  }
  const bound = Number.isFinite(low) ? low : high;
  return decimalsFor(bound, 3);
}
