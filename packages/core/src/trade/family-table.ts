import { familyRows } from './family-rows.ts';
import type { PolymerFamily } from './polymer-family.ts';

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
