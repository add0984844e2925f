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
