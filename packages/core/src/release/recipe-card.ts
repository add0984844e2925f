import { z } from 'zod';
import { Product } from '../trade/grade.ts';
import { SetPoints } from '../trade/line.ts';

const range = z.strictObject({ low: z.number(), high: z.number() });
const nullableRange = z.strictObject({ low: z.number().nullable(), high: z.number().nullable() });

/**
 * A recipe that other people can run: what to set and how far it may drift, how to get there, what to
 * expect, what that rests on, and who signed. The file that leaves the study.
 */
export const RecipeCard = z.strictObject({
  format: z.literal('strandwise recipe card'),
  version: z.literal(1),
  /** Counts the releases of one study from 1. */
  recipeVersion: z.int().positive(),
  study: z.string(),
  invented: z.boolean(),
  grade: z.strictObject({ name: z.string(), family: z.string(), lot: z.string().nullable() }),
  line: z.string(),
  product: Product,
  setPoints: SetPoints,
  /** One entry a set point: what it is, and what it may drift to while all others drift too, or alone. */
  settings: z.array(
    z.strictObject({
      name: z.string(),
      unit: z.string(),
      value: z.union([z.number(), z.string()]),
      allowed: range.nullable(),
      alone: range.nullable(),
    }),
  ),
  drying: z.array(z.string()),
  changeover: z.array(z.string()),
  warmUp: z.array(z.string()),
  expected: z.array(
    z.strictObject({
      response: z.string(),
      unit: z.string(),
      value: z.number(),
      /** 95 % interval of the mean, and where one new set-up should fall. */
      mean: nullableRange,
      next: nullableRange,
    }),
  ),
  chance: z
    .strictObject({
      probability: z.number(),
      notBelow: z.number(),
      asked: z.number(),
      says: z.string(),
    })
    .nullable(),
  evidence: z.strictObject({
    plan: z.string(),
    cells: z.int().nonnegative(),
    failed: z.int().nonnegative(),
    zoneSettings: z.int().nonnegative(),
    seed: z.int().nullable(),
    scoutSteps: z.int().nonnegative(),
    models: z.array(z.string()),
    confirmation: z.string(),
    confirmed: z.boolean(),
    /** Entries of the study's log that this card rests on: all up to this one. */
    upToEntry: z.int().positive(),
  }),
  exceptions: z.array(z.strictObject({ material: z.string(), by: z.string(), reason: z.string() })),
  cautions: z.array(z.string()),
  /** Why it was released although something speaks against it. */
  despite: z.string().nullable(),
  signedBy: z.string().min(1),
  at: z.string(),
});
export type RecipeCard = z.infer<typeof RecipeCard>;
