import { z } from 'zod';
import { Thermal } from '../trade/line.ts';

const text = z.string().trim().min(1).max(2000);
const cell = z.int().positive();

/** One of the three lights at the moment a hold ended. */
export const LightSeen = z.strictObject({ isOn: z.boolean(), says: z.string() });
/** What a live gauge said of zones, flush and strand when a hold ended. */
export const LightsSeen = z.strictObject({
  zones: LightSeen,
  flush: LightSeen,
  strand: LightSeen,
});
export type LightsSeen = z.infer<typeof LightsSeen>;

/**
 * How a gauge writes its lines, described once. `format` is the gauge adapter's own description; it is
 * checked where it is used, so that the log of a study does not depend on any adapter.
 */
export const gaugeDescribed = z.strictObject({
  kind: z.literal('gauge described'),
  place: text,
  format: z.record(z.string(), z.json()),
  /** Lines as they came when it was described. */
  sample: z.array(z.string().max(500)).max(20).default([]),
});

/** A count of the same strand again: by a second person, or later on a stored sample. */
export const bubblesRecounted = z.strictObject({
  kind: z.literal('bubbles recounted'),
  cell,
  count: z.int().nonnegative(),
  metres: z.number().positive(),
  of: z.enum(['strand', 'stored sample']),
  by: z.string().trim().min(1).max(60),
});

/** A cell that nobody will run, without having failed; `why` of the entry says the reason. */
export const cellLeftOut = z.strictObject({ kind: z.literal('cell left out'), cell });

/**
 * The computer's clock did not run with the world: set back or ahead, or the computer slept. The time
 * is not counted in a hold, as nobody watched.
 */
export const clockJumped = z.strictObject({
  kind: z.literal('clock jumped'),
  cell: cell.nullable(),
  /** Negative when it was set back. */
  bySeconds: z.number(),
});

/** The line's lags as learned from its own changes; later holds use them. */
export const holdsLearned = z.strictObject({
  kind: z.literal('holds learned'),
  thermal: Thermal,
  /** Barrel volumes to pump after the zones are ready; null keeps the rule as it is. */
  flushVolumes: z.number().positive().max(10).nullable(),
  says: z.array(text),
});
