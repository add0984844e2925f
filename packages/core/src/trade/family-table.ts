import { familyRows } from './family-rows.ts';

/**
 * Generic values of polymer families: defaults for a data sheet's gaps, never a substitute for data
 * sheet or safety data sheet. Provenance stands by column in `familyColumnSources`.
 */
export interface PolymerFamily {
  readonly family: string;
  readonly alsoCalled: readonly string[];
  readonly structure: 'semicrystalline' | 'amorphous';
  /** Ranges are [low, high]. */
  readonly glassTransitionCelsius?: readonly [number, number];
  readonly meltingCelsius?: readonly [number, number];
  /** Usual barrel set points; absent when the family is not melt-processable. */
  readonly barrelCelsius?: readonly [number, number];
  /** Limit of short exposure, up to 10 or 15 min. */
  readonly ceilingCelsius: number;
  readonly solidDensityGPerCm3: readonly [number, number];
  readonly meltDensityGPerCm3: readonly [number, number];
  readonly drying?: {
    readonly celsius: number;
    readonly hours: number;
    readonly mostMoisturePpm: number;
  };
  /** May it stay in the barrel over a shutdown? */
  readonly parking: 'may stay' | 'short only' | 'purge' | 'never';
  /** Moisture that pellets tend to in an open hopper, and its time constant. */
  readonly uptake?: { readonly equilibriumPpm: number; readonly hours: number };
  /** What it may give off or do; the safety data sheet prevails. */
  readonly hazards: readonly string[];
}

/** Where the columns of the table come from. */
export const familyColumnSources: Readonly<Record<string, string>> = {
  glassTransitionCelsius:
    'from memory; spot-checked against table 1 of PMC9088909 (physical properties of plastics)',
  meltingCelsius: 'from memory; spot-checked against table 1 of PMC9088909',
  barrelCelsius: 'common practice for single-screw strand, no source; PVB: Appl. Sci. 14(21):9752',
  ceilingCelsius: 'common practice for exposures up to 15 min, no source',
  solidDensityGPerCm3: 'from memory; spot-checked against table 1 of PMC9088909',
  meltDensityGPerCm3: 'from memory, within 3 %',
  drying: 'common practice, no source; open tables of drying temperatures agree where they overlap',
  parking: 'common practice, no source',
  uptake: 'from memory, order of magnitude at 50 % relative humidity',
  hazards:
    'HSE Plastics Processing Sheet 13 (fume constituents); common practice; the safety data sheet prevails',
};

/** The table, one entry a family, in the order of the table. */
export const polymerFamilies: readonly PolymerFamily[] = Object.entries(familyRows).map(
  ([family, row]) => ({ family, ...row }),
);

/** A family by its name or another name of it, letter case aside; undefined when unknown. */
export function polymerFamily(name: string): PolymerFamily | undefined {
  const wanted = name.trim().toLowerCase();
  return polymerFamilies.find(({ family, alsoCalled }) =>
    [family, ...alsoCalled].some((known) => known.toLowerCase() === wanted),
  );
}
