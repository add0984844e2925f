import { scrambledHalton } from '../random/scrambled-halton.ts';
import { seededUniform } from '../random/uniform.ts';
import { movingAxes, type SetUpWander } from './set-up-wander.ts';

/** Shared quasi-random points, in batches of independent randomisations. */
export interface Shifts {
  readonly batches: number;
  /** Uniform coordinates of one point: responses less one when they are correlated, else 0. */
  readonly extra: number;
  /** Points of a batch at which the settings are shifted; 0 when nothing wanders. */
  readonly moved: number;
  /** Change of each setting at each point, shape (batches·moved, factors). */
  readonly moves: Float64Array;
  /** Uniform places of the shifted points, shape (batches·moved, extra). */
  readonly places: Float64Array;
  /** Points of a batch with the settings at rest. */
  readonly rest: number;
  /** Their uniform places, shape (batches·rest, extra). */
  readonly restPlaces: Float64Array;
}

/** Fibonacci numbers, whose two-dimensional lattices are the evenest of their size. */
const SMALL_LATTICE = { points: 34, step: 21 };
const LARGE_LATTICE = { points: 144, step: 89 };
/** Steps of the coordinates beyond the second: fractions of roots of primes. */
const ROOTS = [2, 3, 5, 7, 11, 13, 17, 19].map((prime) => Math.sqrt(prime) % 1);

/**
 * The points for a wander of set points and for `extra` uniform coordinates.
 *
 * Shifts are Halton points, each with its mirror image at the same uniform places, so that what is
 * odd in a shift cancels. The
 * integral at rest has a lattice, shifted at random and folded (x to 1 − |2x − 1|), whose error for
 * smooth integrands falls nearly with the square of its size.
 *
 * @source lattice rules with folding: Genz & Bretz (2009), Computation of Multivariate Normal and t
 *   Probabilities, section 4.2 (from memory)
 */
export function sharedShifts(
  wander: SetUpWander,
  {
    extra,
    points,
    batches: wanted,
    seed,
  }: { extra: number; points: number; batches: number; seed: number },
): Shifts {
  const axes = movingAxes(wander);
  const factors = axes[0]?.shift.length ?? 0;
  const moved = axes.length > 0 ? 2 * Math.ceil(points / 2) : 0;
  const isExact = moved === 0 && extra === 0;
  const batches = isExact ? 1 : wanted;
  const moves = new Float64Array(batches * moved * factors);
  const places = new Float64Array(batches * moved * extra);
  const dimensions = axes.length + extra;
  const u = new Float64Array(dimensions);
  for (let batch = 0, at = 0; batch < batches && moved > 0; batch++) {
    const sequence = scrambledHalton(dimensions, seededUniform(seed, `conformance ${batch}`));
    for (let i = 0; i < moved; i++, at++) {
      if (i % 2 === 0) sequence.pointInto(u, i / 2);
      else for (let d = 0; d < axes.length; d++) u[d] = 1 - u[d]!;
      for (const [a, { shift }] of axes.entries())
        for (let f = 0; f < factors; f++) moves[at * factors + f]! += (2 * u[a]! - 1) * shift[f]!;
      for (let d = 0; d < extra; d++) places[at * extra + d] = u[axes.length + d]!;
    }
  }
  return { batches, extra, moved, moves, places, ...restPoints(extra, batches, seed) };
}

function restPoints(extra: number, batches: number, seed: number) {
  if (extra === 0) return { rest: 1, restPlaces: new Float64Array(0) };
  const { points, step } = extra <= 2 ? SMALL_LATTICE : LARGE_LATTICE;
  const restPlaces = new Float64Array(batches * points * extra);
  const uniform = seededUniform(seed, 'conformance lattice');
  for (let batch = 0, at = 0; batch < batches; batch++) {
    const shift = Float64Array.from({ length: extra }, () => uniform());
    for (let i = 0; i < points; i++) {
      for (let d = 0; d < extra; d++) {
        const along = d === 0 ? i / points : d === 1 ? (i * step) / points : i * ROOTS[d - 2]!;
        restPlaces[at++] = 1 - Math.abs(2 * ((along + shift[d]!) % 1) - 1);
      }
    }
  }
  return { rest: points, restPlaces };
}
