import type { Predictor } from '../recipe/predictor.ts';
import { meanVariance, type ResponseSurface } from '../surface/response-surface.ts';

/** A factor along which the surface of a new lot or line may have moved. */
export interface WatchedFactor {
  readonly name: string;
  readonly unit: string;
  /** Its place among the study's factors. */
  readonly index: number;
  /** Natural units in one coded unit. */
  readonly perCoded: number;
}

/** What a set of check runs is judged by: surfaces, and the factors that may have moved. */
export interface ShiftedModel {
  /** Counts tell of the lot as a whole but do not move: see `movesWithLot`. */
  readonly surfaces: readonly ResponseSurface[];
  readonly watched: readonly WatchedFactor[];
}

/** A place looked at, coded settings, with the metres inspected there for counts. */
export interface CheckPlace {
  readonly settings: Float64Array;
  readonly metres: number;
}

/** Length in which bubbles are counted when nothing is known yet, m; common practice, no source. */
export const usualMetres = 8;

/** Surfaces that can show a shift: judged ones that are not flat in everything watched. */
export function shiftedModel(
  predictor: Predictor,
  watched: readonly WatchedFactor[],
): ShiftedModel {
  const surfaces = predictor.surfaces.filter(
    ({ covariance, scale, noiseVariance }) =>
      covariance !== null && scale !== 'log odds' && (noiseVariance > 0 || scale === 'ln rate'),
  );
  return { surfaces, watched };
}

/**
 * True for a response whose surface moves with the melt's temperatures. Bubbles do not: steam and air come
 * with the real temperature and the water in the pellets, whatever the lot melts at.
 */
export const movesWithLot = ({ scale }: Pick<ResponseSurface, 'scale'>): boolean =>
  scale !== 'ln rate';

/** Step for a slope by central difference, coded. */
const slopeStep = 1e-4;

/** Change of a moving surface with one natural unit of a factor, on its scale; 0 for one that stays. */
export function slope(
  surface: ResponseSurface,
  settings: Float64Array,
  { index, perCoded }: WatchedFactor,
): number {
  if (!movesWithLot(surface)) return 0;
  const { mean } = surface;
  const at = (by: number): number => {
    const moved = settings.slice();
    moved[index]! += by;
    return mean(moved);
  };
  return (at(slopeStep) - at(-slopeStep)) / (2 * slopeStep * perCoded);
}

/** Settings of the old surface that a moved one shows at `settings`: x − δ; as they are for one that stays. */
export function unshifted(
  surface: Pick<ResponseSurface, 'scale'>,
  settings: Float64Array,
  shift: readonly number[],
  watched: readonly WatchedFactor[],
): Float64Array {
  const out = settings.slice();
  if (!movesWithLot(surface)) return out;
  for (const [w, { index, perCoded }] of watched.entries()) out[index]! -= shift[w]! / perCoded;
  return out;
}

/** Variance of one new reading about its surface: set-ups, and counting for a rate. */
export function readingVariance(
  surface: ResponseSurface,
  { settings, metres }: CheckPlace,
): number {
  if (surface.scale !== 'ln rate') return surface.noiseVariance;
  const expected = metres * Math.exp(surface.mean(settings));
  return surface.noiseVariance + 1 / Math.max(0.5, expected);
}

/** Covariance of readings of one surface at places: what is not known of it, and their own scatter. */
export function placesCovariance(
  surface: ResponseSurface,
  places: readonly CheckPlace[],
): Float64Array {
  const n = places.length;
  const { covariance } = surface;
  const rows = places.map(({ settings }) => surface.row(settings));
  const out = new Float64Array(n * n);
  for (let a = 0; a < n; a++)
    for (let b = 0; b < n; b++) {
      const x = rows[a]!;
      const y = rows[b]!;
      const p = x.length;
      let sum = 0;
      for (let i = 0; i < p; i++)
        for (let j = 0; j < p; j++) sum += x[i]! * covariance![i * p + j]! * y[j]!;
      out[a * n + b] = sum;
    }
  for (let a = 0; a < n; a++) {
    out[a * n + a] =
      (meanVariance(surface, places[a]!.settings) ?? 0) + readingVariance(surface, places[a]!);
  }
  return out;
}
