import { z } from 'zod';
import { Powers } from '../../term/term.ts';

/** The two-stage reading of a definitive screening plan. */
export const ScreeningReport = z.strictObject({
  says: z.string(),
  errorSd: z.number(),
  errorDf: z.number(),
  /** Main effects below this p go on to the second stage. */
  threshold: z.number(),
  mainEffects: z.array(
    z.strictObject({
      name: z.string(),
      estimate: z.number(),
      t: z.number(),
      p: z.number(),
      isActive: z.boolean(),
    }),
  ),
  secondOrder: z.array(z.string()),
  terms: z.array(Powers),
});
export type ScreeningReport = z.infer<typeof ScreeningReport>;

/**
 * Lenth's reading of a saturated two-level design: effects beyond `me` stand out, beyond `sme` surely.
 * `simulated`: the same two limits by simulation of effects that are all noise, as multiples of
 * `pse`: for one effect, and for the largest of all.
 */
export const LenthReport = z.strictObject({
  pse: z.number(),
  df: z.number(),
  me: z.number(),
  sme: z.number(),
  simulated: z.strictObject({
    each: z.number(),
    largest: z.number(),
    draws: z.int(),
    seed: z.int(),
  }),
  effects: z.array(
    z.strictObject({ name: z.string(), effect: z.number(), p: z.number().nullable() }),
  ),
});
export type LenthReport = z.infer<typeof LenthReport>;
