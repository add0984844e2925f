import { z } from 'zod';

/** Where a number came from. `assumed` stands for a family's default until a person confirms it. */
export const NumberSource = z.enum([
  'data sheet',
  'safety data sheet',
  'handbook',
  'measured',
  'assumed',
]);
export type NumberSource = z.infer<typeof NumberSource>;

/** The plastic to qualify, as its data sheet tells it. */
export const Grade = z
  .strictObject({
    name: z.string().trim().min(1).max(60),
    family: z.string().trim().min(1).max(40),
    lot: z.string().max(60).optional(),
    meltingCelsius: z.number().optional(),
    glassTransitionCelsius: z.number().optional(),
    /** Coldest barrel set point at which the grade is melted. */
    floorCelsius: z.number(),
    /** Hottest barrel set point that the grade stands for a barrel's residence time. */
    ceilingCelsius: z.number(),
    drying: z
      .strictObject({
        celsius: z.number(),
        hours: z.number().positive(),
        mostMoisturePpm: z.number().positive(),
      })
      .optional(),
    solidDensityGPerCm3: z.number().positive(),
    meltDensityGPerCm3: z.number().positive(),
    hazards: z.array(z.string()).default([]),
    sources: z.record(z.string(), NumberSource).default({}),
  })
  .check((context) => {
    const { floorCelsius, ceilingCelsius } = context.value;
    if (!(floorCelsius < ceilingCelsius)) {
      context.issues.push({
        code: 'custom',
        input: context.value,
        path: ['ceilingCelsius'],
        message: `ceilingCelsius must exceed floorCelsius; got floor=${floorCelsius}, ceiling=${ceilingCelsius}. Check the data sheet.`,
      });
    }
  });
export type Grade = z.infer<typeof Grade>;

/** What is made: target diameter and its tolerance. */
export const Product = z
  .strictObject({
    diameterMm: z.number().positive().max(10),
    toleranceMm: z.number().positive(),
    mostBubblesPerMetre: z.number().nonnegative().default(1),
    leastOutputKgPerHour: z.number().nonnegative().default(0),
    /** Smallest performance index Ppk (ISO 22514-2) that a good spool may have. */
    leastPpk: z.number().positive().default(1),
  })
  .check((context) => {
    const { diameterMm, toleranceMm } = context.value;
    if (toleranceMm >= diameterMm) {
      context.issues.push({
        code: 'custom',
        input: context.value,
        path: ['toleranceMm'],
        message: `toleranceMm must be less than the diameter; got tolerance=${toleranceMm}, diameter=${diameterMm}. Give the tolerance in millimetres.`,
      });
    }
  });
export type Product = z.infer<typeof Product>;
