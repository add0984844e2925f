import { z } from 'zod';
import type { Product } from '../trade/grade.ts';

/** What a lab asks of a spool. Every limit is the lab's own; the defaults are common practice, no source. */
export const AcceptanceLimits = z.strictObject({
  diameterMm: z.number().positive(),
  toleranceMm: z.number().positive(),
  /** The mean may be off target by this much, mm. */
  mostMeanOffMm: z.number().positive(),
  /** Share of the strand outside the tolerance. */
  mostShareOutside: z.number().min(0).max(1),
  /** No reading may be farther outside the tolerance than this, mm. */
  mostBeyondMm: z.number().nonnegative(),
  longestOutsideMetres: z.number().nonnegative(),
  /** Ppk may not be below this, with the confidence below, one-sided. */
  leastPpk: z.number().positive(),
  confidence: z.number().gt(0.5).lt(1),
  /** Content of the tolerance intervals. */
  content: z.number().gt(0.5).lt(1),
  /** Bubbles a metre: upper limit of the counted rate, with the confidence above. */
  mostBubblesPerMetre: z.number().nonnegative().optional(),
  mostOvalityMm: z.number().positive().optional(),
  leastMetres: z.number().positive().optional(),
});
export type AcceptanceLimits = z.infer<typeof AcceptanceLimits>;

/**
 * Limits from a product: mean within a fifth of the tolerance, at most 0.3 % outside, nothing more than
 * 0.02 mm beyond, at most 0.1 m in one piece, Ppk not below the product's with confidence 0.95.
 */
export const usualAcceptance = ({
  diameterMm,
  toleranceMm,
  leastPpk,
  mostBubblesPerMetre,
}: Product): AcceptanceLimits => ({
  diameterMm,
  toleranceMm,
  mostMeanOffMm: 0.2 * toleranceMm,
  mostShareOutside: 0.003,
  mostBeyondMm: 0.02,
  longestOutsideMetres: 0.1,
  leastPpk,
  confidence: 0.95,
  content: 0.99,
  mostBubblesPerMetre,
});
