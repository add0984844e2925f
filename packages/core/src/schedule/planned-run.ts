import { z } from 'zod';
import { SetPoints } from '../trade/line.ts';

const setting = z.union([z.number(), z.string()]);

/**
 * One cell of a plan in the order it is to be run. `natural` and `coded` are the settings after
 * rounding to what the controller takes: they are what is analysed. `setPoints` and `holdSeconds`
 * are null when the plan was made without a line.
 */
export const PlannedRun = z.strictObject({
  runOrder: z.int().positive(),
  designOrder: z.int().positive(),
  block: z.int().positive(),
  wholePlot: z.int().positive().nullable(),
  subWholePlot: z.int().positive().nullable(),
  kind: z.enum(['corner', 'axial', 'centre', 'edge', 'other']),
  coded: z.record(z.string(), setting),
  natural: z.record(z.string(), setting),
  setPoints: SetPoints.nullable(),
  holdSeconds: z.number().nonnegative().nullable(),
});
export type PlannedRun = z.infer<typeof PlannedRun>;
