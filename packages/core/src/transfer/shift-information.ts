import { cholesky, choleskyInverse, choleskySolve } from '../linear/cholesky.ts';
import { standardNormal } from '../random/standard-normal.ts';
import type { Uniform } from '../random/uniform.ts';
import { surfaceDraw } from '../surface/surface-belief.ts';
import {
  type CheckPlace,
  placesCovariance,
  readingVariance,
  type ShiftedModel,
  slope,
  unshifted,
} from './shifted-model.ts';

/** Ridge that keeps half-chosen sets comparable: what a first look at a shift and a lot leaves open. */
const firstPrecision = { shift: 1 / 20 ** 2, lot: 1e-3 };

/** Standard errors of the shifts when every response may also have moved as a whole. */
export function shiftErrors(places: readonly CheckPlace[], model: ShiftedModel): number[] | null {
  const solved = linearSolution(places, model);
  if (!solved) return null;
  const { inverse, size } = solved;
  return model.watched.map((_, w) => {
    const at = model.surfaces.length + w;
    return Math.sqrt(inverse[at * size + at]!);
  });
}

interface LinearSolution {
  /** Covariance of offsets and then shifts, shape (size, size). */
  readonly inverse: Float64Array;
  readonly size: number;
  /** By surface: V⁻¹ times each of its columns, with the column's place among the unknowns. */
  readonly parts: readonly {
    readonly surface: ShiftedModel['surfaces'][number];
    readonly columns: readonly { readonly at: number; readonly solved: Float64Array }[];
  }[];
}

/** The least-squares problem of a set of places, linear in the shifts about none. */
function linearSolution(
  places: readonly CheckPlace[],
  { surfaces, watched }: ShiftedModel,
): LinearSolution | null {
  const size = surfaces.length + watched.length;
  const information = new Float64Array(size * size);
  for (let k = 0; k < size; k++)
    information[k * size + k] = k < surfaces.length ? firstPrecision.lot : firstPrecision.shift;
  const n = places.length;
  const parts: LinearSolution['parts'][number][] = [];
  for (const [r, surface] of surfaces.entries()) {
    const factor = cholesky(placesCovariance(surface, places), n);
    if (factor.kind !== 'factored') return null;
    const columns = [
      { at: r, values: new Float64Array(n).fill(1) },
      ...watched.map((one, w) => ({
        at: surfaces.length + w,
        values: Float64Array.from(places, ({ settings }) => -slope(surface, settings, one)),
      })),
    ].map(({ at, values }) => ({ at, values, solved: choleskySolve(factor.lower, n, values) }));
    for (const a of columns)
      for (const b of columns)
        information[a.at * size + b.at]! += a.solved.reduce(
          (sum, value, i) => sum + value * b.values[i]!,
          0,
        );
    parts.push({ surface, columns });
  }
  const whole = cholesky(information, size);
  if (whole.kind !== 'factored') return null;
  return { inverse: choleskyInverse(whole.lower, size), size, parts };
}

const draws = 400;

/**
 * Share of draws in which a shift would be seen: a surface is drawn from what is believed, moved, read
 * with its scatter, and judged by the surface as estimated. A bend that is itself in doubt then gives no
 * false promise.
 */
export function seenShare(
  places: readonly CheckPlace[],
  model: ShiftedModel,
  {
    w,
    shift,
    z,
    uniform,
  }: {
    readonly w: number;
    readonly shift: number;
    readonly z: number;
    readonly uniform: Uniform;
  },
): number {
  const solution = linearSolution(places, model)!;
  const { inverse, size, parts } = solution;
  const target = model.surfaces.length + w;
  const error = Math.sqrt(inverse[target * size + target]!);
  const moved = model.watched.map((_, k) => (k === w ? shift : 0));
  let seen = 0;
  for (let draw = 0; draw < draws; draw++) {
    const gradient = new Float64Array(size);
    for (const { surface, columns } of parts) {
      const { belief, row, mean } = surface;
      const drawn = belief ? surfaceDraw(belief, uniform).coefficients : surface.coefficients;
      for (const [i, place] of places.entries()) {
        const at = unshifted(surface, place.settings, moved, model.watched);
        const scatter = Math.sqrt(readingVariance(surface, place)) * standardNormal(uniform);
        const terms = row(at);
        const value = terms.reduce((sum, term, j) => sum + term * drawn[j]!, 0) + scatter;
        for (const { at: k, solved } of columns)
          gradient[k]! += solved[i]! * (value - mean(place.settings));
      }
    }
    let estimate = 0;
    for (let k = 0; k < size; k++) estimate += inverse[target * size + k]! * gradient[k]!;
    if (Math.abs(estimate) > z * error) seen++;
  }
  return seen / draws;
}
