import { z } from 'zod';

const limit = z.number().nullable();

/** How much of the fitted surface's variance over the region a factor explains. */
export const ShareReport = z.strictObject({
  factor: z.string(),
  /** First order: by this factor alone, averaged over the others. */
  alone: z.number(),
  /** Total: what only knowing this factor explains, in company too. */
  total: z.number(),
  low: limit,
  high: limit,
  reading: z.string(),
});

/** A factor's stretch of a region, natural units, cut at the studied range. */
export const StretchReport = z.strictObject({
  factor: z.string(),
  unit: z.string(),
  low: z.number(),
  high: z.number(),
  isOpenBelow: z.boolean(),
  isOpenAbove: z.boolean(),
});

/**
 * Where the best or level place may be. `region`: joint confidence region of the stationary point,
 * `share` of the studied region. `simulated`: best places of draws of the surface.
 */
export const RegionReport = z.strictObject({
  kind: z.enum(['region', 'simulated', 'none']),
  confidence: limit,
  share: limit,
  stretches: z.array(StretchReport),
  says: z.string(),
});

/** One place on a way to better values, mean in the response's own unit. */
export const PathStepReport = z.strictObject({
  /** From the centre, coded. */
  distance: z.number(),
  natural: z.record(z.string(), z.union([z.number(), z.string()])),
  /** What the operator keys in, where a line is known. */
  setPoints: z.record(z.string(), z.unknown()).nullable(),
  mean: z.number(),
  low: limit,
  high: limit,
  isOutside: z.boolean(),
  /** The limit of line or grade that it breaks, in words. */
  broken: z.string().nullable(),
});

/** `ridge`: the best place at every distance. `steepest`: straight on by the slopes at the centre. */
export const PathReport = z.strictObject({
  kind: z.enum(['ridge', 'steepest']),
  aim: z.enum(['smallest', 'largest']),
  says: z.string(),
  steps: z.array(PathStepReport),
});

/** What a fitted surface looks like beyond its terms. */
export const SurfaceReport = z.strictObject({
  response: z.string(),
  shares: z.array(ShareReport),
  sharesSay: z.string(),
  region: RegionReport,
  paths: z.array(PathReport),
});
export type SurfaceReport = z.infer<typeof SurfaceReport>;
