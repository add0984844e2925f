import type { Journal } from '@strandwise/core';
import type { LineFormat } from '@strandwise/gauge';
import type { HoldOffer } from './screen.ts';

/** Better holds for the cells to come, or null while too little is known. */
export function holdOffer(_journal: Journal, _format: LineFormat | null): HoldOffer | null {
  return null;
}
