import { z } from 'zod';

/**
 * How dear a change of setting is. `easy`: seconds (fan). `semi-hard`: instant to set, slow to act
 * (screw speed renews the melt only after a barrel volume or two). `hard`: minutes (zones), or
 * hours (nozzle, pellet lot). Each tier but `easy` defines a stratum of the split plot.
 */
export const Change = z.enum(['easy', 'semi-hard', 'hard']);
export type Change = z.infer<typeof Change>;

/**
 * What a numeric factor moves on the line. `level`, `tilt`, `hump` and `ripple` are zone-profile
 * contrasts in °C (see zone-profile.ts); `zone 1`…`zone 8` are raw set points counted from the feed
 * end; `other` is a factor the line description knows nothing about.
 */
export const Acts = z.enum([
  'level',
  'tilt',
  'hump',
  'ripple',
  'zone 1',
  'zone 2',
  'zone 3',
  'zone 4',
  'zone 5',
  'zone 6',
  'zone 7',
  'zone 8',
  'screw',
  'fan',
  'other',
]);
export type Acts = z.infer<typeof Acts>;

const name = z
  .string()
  .trim()
  .min(1)
  .max(40)
  .refine((text) => text !== '__proto__' && !/\p{Cc}/u.test(text), {
    error: ({ input }) =>
      `a name must be one line of text that programs can keep; got ${JSON.stringify(input)}. Choose another.`,
  });

/** A factor measured on a scale. `step` is the finest setting the controller takes. */
export const NumericFactor = z
  .strictObject({
    name,
    low: z.number(),
    high: z.number(),
    unit: z.string().max(20).optional(),
    changes: Change.default('easy'),
    acts: Acts.optional(),
    step: z.number().positive().optional(),
  })
  .check((context) => {
    const { low, high, name: factor } = context.value;
    if (!(low < high)) {
      context.issues.push({
        code: 'custom',
        input: context.value,
        path: ['high'],
        message: `high must exceed low; got low=${low}, high=${high} (factor "${factor}"). Swap or widen the limits.`,
      });
    }
  });
export type NumericFactor = z.infer<typeof NumericFactor>;

/** A factor with named levels (nozzle, screw, pellet lot, dryer). Levels are coded to sum to zero. */
export const NamedFactor = z.strictObject({
  name,
  levels: z
    .array(z.string().trim().min(1))
    .min(2)
    .check(({ value, issues }) => {
      const twice = value.findIndex((level, i) => value.indexOf(level) < i);
      if (twice < 0) return;
      issues.push({
        code: 'custom',
        input: value,
        path: [twice],
        message: `levels must differ; got "${value[twice]}" twice. Rename one.`,
      });
    }),
  changes: Change.default('hard'),
});
export type NamedFactor = z.infer<typeof NamedFactor>;

export const Factor = z.union([NamedFactor, NumericFactor]);
export type Factor = z.infer<typeof Factor>;

export { isNamed, isNumeric } from './factor-kind.ts';
