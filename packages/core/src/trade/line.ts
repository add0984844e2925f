import { z } from 'zod';

/** One heated zone, counted from the feed end. */
export const Zone = z.strictObject({
  name: z.string().min(1).max(20),
  /** Distance of the zone's centre from the feed end; equal spacing when no zone has one. */
  positionMm: z.number().nonnegative().optional(),
  heaterLimitCelsius: z.number().positive().max(600),
});
export type Zone = z.infer<typeof Zone>;

/**
 * How the barrel answers a change of set point. Values are common practice for a benchtop barrel of
 * 12 to 20 mm (no source) until they are learned from recorded transitions.
 */
export const Thermal = z.strictObject({
  zoneLagSeconds: z.number().positive().default(90),
  heatingCelsiusPerSecond: z.number().positive().default(0.2),
  coolingCelsiusPerSecond: z.number().positive().default(0.06),
  neighbourCouplingPerSecond: z.number().nonnegative().default(0.0002),
  coreLagSeconds: z.number().positive().default(400),
  coreShare: z.number().min(0).max(1).default(0.25),
  settledWithinCelsius: z.number().positive().default(1),
  basis: z.enum(['assumed', 'learned', 'measured']).default('assumed'),
});
export type Thermal = z.infer<typeof Thermal>;

/** A benchtop single-screw filament line, as far as planning and walking need to know it. */
export const Line = z
  .strictObject({
    name: z.string().trim().min(1).max(60),
    zones: z.array(Zone).min(1).max(8),
    setPointStepCelsius: z.number().positive().default(1),
    largestNeighbourStepCelsius: z.number().positive().default(30),
    screw: z.strictObject({
      diameterMm: z.number().positive().default(16),
      meteringDepthMm: z.number().positive().default(1.5),
      lowRpm: z.number().positive().default(1),
      highRpm: z.number().positive().default(15),
      stepRpm: z.number().positive().default(0.1),
    }),
    /** Volume of melt pumped per screw turn; from the screw geometry when absent. */
    outputCm3PerTurn: z.number().positive().optional(),
    holdUpCm3: z.number().positive().default(27.6),
    fan: z
      .strictObject({ stepPercent: z.number().positive().default(5) })
      .default({ stepPercent: 5 }),
    dieToPullerMm: z.number().positive().default(600),
    dieToGaugeMm: z.number().positive().default(700),
    puller: z
      .strictObject({
        lowMmPerSecond: z.number().positive().default(2),
        highMmPerSecond: z.number().positive().default(90),
        loop: z.enum(['on', 'off']).default('on'),
      })
      .default({ lowMmPerSecond: 2, highMmPerSecond: 90, loop: 'on' }),
    gauge: z
      .strictObject({
        sdMm: z.number().nonnegative().default(0.004),
        resolutionMm: z.number().nonnegative().default(0.002),
        axes: z.union([z.literal(1), z.literal(2)]).default(1),
      })
      .default({ sdMm: 0.004, resolutionMm: 0.002, axes: 1 }),
    thermal: Thermal.default(Thermal.parse({})),
    /** Shortest hold whatever the calculation says; common practice, no source. */
    shortestHold: z
      .strictObject({
        zoneChangeMinutes: z.number().nonnegative().default(10),
        otherChangeMinutes: z.number().nonnegative().default(3),
      })
      .default({ zoneChangeMinutes: 10, otherChangeMinutes: 3 }),
    measureMinutes: z.number().positive().default(8),
  })
  .check((context) => {
    const { screw } = context.value;
    if (!(screw.lowRpm < screw.highRpm)) {
      context.issues.push({
        code: 'custom',
        input: context.value,
        path: ['screw', 'highRpm'],
        message: `highRpm must exceed lowRpm; got lowRpm=${screw.lowRpm}, highRpm=${screw.highRpm}. Swap the limits.`,
      });
    }
  });
export type Line = z.infer<typeof Line>;

/** What the operator keys in: one temperature a zone, screw speed, fan, and anything else by name. */
export const SetPoints = z.strictObject({
  zonesCelsius: z.array(z.number()),
  screwRpm: z.number(),
  fanPercent: z.number(),
  other: z.record(z.string(), z.union([z.number(), z.string()])).default({}),
});
export type SetPoints = z.infer<typeof SetPoints>;
