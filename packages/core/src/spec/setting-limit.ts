import { z } from 'zod';

/**
 * A limit of one's own on the settings, beside those of line and grade: the sum of weight × setting
 * lies between `atLeast` and `atMost`, in natural or in coded units. In natural units a weight may
 * also name a set point, "zone 1" to "zone 8" from the feed end.
 */
export const SettingLimit = z
  .strictObject({
    weights: z.record(z.string(), z.number()),
    atMost: z.number().optional(),
    atLeast: z.number().optional(),
    units: z.enum(['natural', 'coded']).default('natural'),
    says: z.string().trim().min(1).max(120).optional(),
  })
  .check((context) => {
    const { atMost, atLeast, weights } = context.value;
    const refuse = (path: string, message: string): void => {
      context.issues.push({ code: 'custom', input: context.value, path: [path], message });
    };
    if (atMost === undefined && atLeast === undefined)
      refuse('atMost', 'a limit must give atMost, atLeast or both; got neither. Add one.');
    if (Object.values(weights).every((weight) => weight === 0))
      refuse('weights', 'a limit must weigh at least one factor; got none. Name a factor.');
  });
export type SettingLimit = z.infer<typeof SettingLimit>;
