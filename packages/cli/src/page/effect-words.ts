import type { FactorEffect } from '@strandwise/core';
import {
  decimalsFor,
  fixed,
  intervalDecimals,
  signed,
  signedInterval,
  withUnit,
} from '@strandwise/report';
import type { PagedResponse } from './paged-study.ts';
import { endDecimals } from './setting.ts';

/** "3 to 7 rpm", in the decimals of the factor. */
export function effectRange({ low, high, unit }: FactorEffect): string {
  const decimals = endDecimals({ low, high });
  return `${fixed(low, decimals)} to ${withUnit(fixed(high, decimals), unit)}`;
}

/** The change with its unit: "+49 %", "−0.012 kg/h". */
export function signedChange({ change, isRatio }: FactorEffect, { unit }: PagedResponse): string {
  const value = isRatio ? 100 * change.value : change.value;
  const text = isRatio ? signed(value, 0) : signed(value, decimalsFor(value, 2));
  return withUnit(text, isRatio ? '%' : unit);
}

/** The change with its interval: "+49 % (+27 … +75)". */
export function changeWords(effect: FactorEffect, response: PagedResponse): string {
  const { change, isRatio } = effect;
  const scale = isRatio ? 100 : 1;
  const { low, high } = change;
  const size = signedChange(effect, response);
  if (low === null || high === null) return size;
  if (isRatio) return `${size} (${signedInterval(scale * low, scale * high, 0)})`;
  const decimals = intervalDecimals(low, high);
  const value = withUnit(signed(change.value, decimals), response.unit);
  return `${value} (${signedInterval(low, high, decimals)})`;
}
