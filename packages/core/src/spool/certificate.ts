import { z } from 'zod';
import { RawReference } from '../study/event.ts';
import { AcceptanceLimits } from './acceptance.ts';

const interval = z.strictObject({ low: z.number(), high: z.number() });
const estimate = z.strictObject({ value: z.number(), low: z.number(), high: z.number() });
const pair = z.strictObject({
  /** Width of the limits over six SDs, and to the nearer limit over three; 95 % intervals. */
  spread: estimate,
  nearer: estimate,
  /** What the nearer index is not below, one-sided, with the confidence of the limits. */
  nearerNotBelow: z.number(),
});

/** What the whole log of one spool says, and whether it is accepted. Lengths in m, diameters in mm. */
export const SpoolCertificate = z.strictObject({
  format: z.literal('strandwise spool certificate'),
  version: z.literal(1),
  spool: z.string().min(1),
  grade: z.string(),
  lot: z.string().nullable(),
  line: z.string(),
  study: z.string().nullable(),
  recipeVersion: z.int().nullable(),
  invented: z.boolean(),
  at: z.string(),
  by: z.string(),
  log: RawReference,
  limits: AcceptanceLimits,
  readings: z.int().nonnegative(),
  missingReadings: z.int().nonnegative(),
  hours: z.number().nonnegative(),
  metres: z.number().nonnegative().nullable(),
  unreadMetres: z.number().nonnegative().nullable(),
  /** Independent readings that would tell mean and variance as well. */
  effective: z.strictObject({ forMean: z.number(), forVariance: z.number() }),
  mean: estimate,
  sd: estimate,
  /** ISO 22514-2 performance: the SD of all readings, whatever the process did. */
  performance: pair.extend({ nearerByPercentiles: z.number().nullable() }),
  /** ISO 22514-2 capability: only for a process in control by subgroups. */
  capability: z.discriminatedUnion('kind', [
    pair.extend({
      kind: z.literal('in control'),
      sdWithin: z.number(),
      subgroups: z.int(),
      says: z.string(),
    }),
    z.strictObject({ kind: z.literal('not in control'), subgroups: z.int(), says: z.string() }),
    z.strictObject({ kind: z.literal('too short'), subgroups: z.int(), says: z.string() }),
  ]),
  tolerance: z.strictObject({
    content: z.number(),
    confidence: z.number(),
    normal: interval,
    distributionFree: z.discriminatedUnion('kind', [
      interval.extend({
        kind: z.literal('interval'),
        inwards: z.int(),
        reachedConfidence: z.number(),
      }),
      interval.extend({
        kind: z.literal('too few'),
        reachedConfidence: z.number(),
        needed: z.int(),
      }),
    ]),
  }),
  outside: z.strictObject({
    share: z.number(),
    metres: z.number().nullable(),
    longestMetres: z.number().nullable(),
    worstBeyondMm: z.number(),
    pieces: z.int().nonnegative(),
    /** The longest pieces, by position; at most 100. */
    stretches: z.array(
      z.strictObject({ fromMetre: z.number(), toMetre: z.number(), worstMm: z.number() }),
    ),
  }),
  ovality95Mm: z.number().nullable(),
  bubbles: z
    .strictObject({
      count: z.int().nonnegative(),
      metres: z.number().positive(),
      rateNotAbove: z.number(),
    })
    .nullable(),
  accepted: z.boolean(),
  reasons: z.array(z.string()),
  cannotSay: z.array(z.string()),
});
export type SpoolCertificate = z.infer<typeof SpoolCertificate>;

/** What names a certificate beside its numbers. */
export type CertificateWords = Pick<
  SpoolCertificate,
  'spool' | 'grade' | 'lot' | 'line' | 'study' | 'recipeVersion' | 'invented' | 'at' | 'by' | 'log'
>;
