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

const said = {
  name: z.string().trim().min(1).max(60),
  family: z.string().trim().min(1).max(40),
  lot: z.string().max(60).optional(),
  meltingCelsius: z.number().optional(),
  glassTransitionCelsius: z.number().optional(),
  drying: z
    .strictObject({
      celsius: z.number(),
      hours: z.number().positive(),
      mostMoisturePpm: z.number().positive(),
    })
    .optional(),
  sources: z.record(z.string(), NumberSource).default({}),
};
/** Coldest barrel set point at which the grade is melted. */
const floorCelsius = z.number();
/** Hottest barrel set point that the grade stands for a barrel's residence time. */
const ceilingCelsius = z.number();
const density = z.number().positive();
const hazards = z.array(z.string());

/** What a data sheet says of a grade: its gaps are filled from the family and marked `assumed`. */
export const GradeSheet = z.strictObject({
  ...said,
  floorCelsius: floorCelsius.optional(),
  ceilingCelsius: ceilingCelsius.optional(),
  solidDensityGPerCm3: density.optional(),
  meltDensityGPerCm3: density.optional(),
  hazards: hazards.optional(),
});
export type GradeSheet = z.infer<typeof GradeSheet>;

/** The plastic to qualify, every number that planning needs at hand. */
export const Grade = z
  .strictObject({
    ...said,
    floorCelsius,
    ceilingCelsius,
    solidDensityGPerCm3: density,
    meltDensityGPerCm3: density,
    hazards: hazards.default([]),
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
