import { chiSquaredUpper } from '../distribution/chi-squared.ts';
import { fUpper } from '../distribution/f.ts';
import { cholesky, choleskyInverse, choleskySolve } from '../linear/cholesky.ts';
import { onScale, type ResponseSurface } from '../surface/response-surface.ts';
import {
  type CheckPlace,
  placesCovariance,
  type ShiftedModel,
  slope,
  unshifted,
  type WatchedFactor,
} from './shifted-model.ts';

/** A check run as it was measured: where, and each response in its own unit (counts as events). */
export interface CheckReading {
  readonly place: CheckPlace;
  readonly values: Readonly<Record<string, number | null>>;
}

/** Where the surface has moved to, and by how much each response differs as a whole. */
export interface ShiftEstimate {
  /** Shift of the optimum, natural units of each watched factor; the order of the model. */
  readonly shift: readonly number[];
  /** Change of each response as a whole, on its surface's scale; by name. */
  readonly offset: Readonly<Record<string, number>>;
  /** Covariance of shifts and then offsets, shape (w + r, w + r). */
  readonly covariance: Float64Array;
  readonly responses: readonly string[];
  readonly watched: readonly WatchedFactor[];
  /**
   * What the shifted surface leaves unexplained: χ², its df and the chance of as much or more, by F as
   * the scatter is itself an estimate. The covariance is already widened by χ²/df when that is above 1.
   */
  readonly misfit: { readonly chiSquared: number; readonly df: number; readonly p: number };
}

/** Passes of the iteration; surfaces are quadratic, so a few suffice. */
const passes = 12;
/** What is believed of a shift before the check, °C or the factor's own unit: next to nothing. */
const priorShiftSd = 20;

/**
 * Estimates y = f(x − δ) + α by generalised least squares: the old surface f with its own doubt, moved
 * by δ along the watched factors and by α as a whole. A rate is looked at as ln((events + ½)/metres).
 */
export function shiftEstimate(
  readings: readonly CheckReading[],
  model: ShiftedModel,
): ShiftEstimate | null {
  const { watched } = model;
  const parts = model.surfaces.flatMap((surface) => {
    const seen = readings.flatMap(({ place, values }) => {
      const value = values[surface.name];
      return value === null || value === undefined
        ? []
        : [{ place, y: scaled(surface, value, place.metres) }];
    });
    return seen.length === 0 ? [] : [{ surface, seen, factor: factored(surface, seen) }];
  });
  const usable = parts.flatMap((part) =>
    part.factor === null ? [] : [{ ...part, lower: part.factor }],
  );
  if (usable.length === 0) return null;
  const w = watched.length;
  const p = w + usable.length;
  const beta = new Float64Array(p);
  let covariance: Float64Array = new Float64Array(p * p);
  for (let pass = 0; pass < passes; pass++) {
    const information = new Float64Array(p * p);
    const target = new Float64Array(p);
    for (let k = 0; k < w; k++) {
      information[k * p + k]! += 1 / priorShiftSd ** 2;
      target[k]! -= beta[k]! / priorShiftSd ** 2;
    }
    for (const [r, { surface, seen, lower }] of usable.entries()) {
      const n = seen.length;
      const shifted = seen.map(({ place }) =>
        unshifted(surface, place.settings, Array.from(beta.subarray(0, w)), watched),
      );
      const residual = Float64Array.from(
        seen,
        ({ y }, i) => y - surface.mean(shifted[i]!) - beta[w + r]!,
      );
      const columns = [
        ...watched.map((one, k) => ({
          at: k,
          values: Float64Array.from(shifted, (settings) => -slope(surface, settings, one)),
        })),
        { at: w + r, values: new Float64Array(n).fill(1) },
      ];
      for (const a of columns) {
        const solved = choleskySolve(lower, n, a.values);
        target[a.at]! += dot(solved, residual);
        for (const b of columns) information[a.at * p + b.at]! += dot(solved, b.values);
      }
    }
    const whole = cholesky(information, p);
    if (whole.kind !== 'factored') return null;
    covariance = choleskyInverse(whole.lower, p);
    const step = choleskySolve(whole.lower, p, target);
    // Half steps keep a curved surface from throwing the first guess far out.
    const damping = pass < 3 ? 0.6 : 1;
    for (let k = 0; k < p; k++) beta[k]! += damping * step[k]!;
    if (step.every((value) => Math.abs(value) < 1e-9)) break;
  }
  const misfit = misfitOf(usable, beta, watched);
  // Birge's ratio: what the model leaves over widens what it claims.
  const wider = misfit.df > 0 ? Math.max(1, misfit.chiSquared / misfit.df) : 1;
  return {
    shift: Array.from(beta.subarray(0, w)),
    offset: Object.fromEntries(usable.map(({ surface }, r) => [surface.name, beta[w + r]!])),
    covariance: covariance.map((value) => value * wider),
    responses: usable.map(({ surface }) => surface.name),
    watched,
    misfit,
  };
}

const scaled = (surface: ResponseSurface, value: number, metres: number): number =>
  surface.scale === 'ln rate' ? Math.log((value + 0.5) / metres) : onScale(surface, value);

function factored(
  surface: ResponseSurface,
  seen: readonly { readonly place: CheckPlace }[],
): Float64Array | null {
  const covariance = placesCovariance(
    surface,
    seen.map(({ place }) => place),
  );
  const factor = cholesky(covariance, seen.length);
  return factor.kind === 'factored' ? factor.lower : null;
}

function misfitOf(
  parts: readonly {
    readonly surface: ResponseSurface;
    readonly seen: readonly { readonly place: CheckPlace; readonly y: number }[];
    readonly lower: Float64Array;
  }[],
  beta: Float64Array,
  watched: readonly WatchedFactor[],
): ShiftEstimate['misfit'] {
  const w = watched.length;
  let chiSquared = 0;
  let readings = 0;
  for (const [r, { surface, seen, lower }] of parts.entries()) {
    const shift = Array.from(beta.subarray(0, w));
    const residual = Float64Array.from(
      seen,
      ({ place, y }) =>
        y - surface.mean(unshifted(surface, place.settings, shift, watched)) - beta[w + r]!,
    );
    chiSquared += dot(choleskySolve(lower, seen.length, residual), residual);
    readings += seen.length;
  }
  const df = readings - beta.length;
  if (df <= 0) return { chiSquared, df, p: 1 };
  const known = Math.min(...parts.map(({ surface }) => surface.df));
  const p = Number.isFinite(known)
    ? fUpper(chiSquared / df, df, Math.max(1, known))
    : chiSquaredUpper(chiSquared, df);
  return { chiSquared, df, p };
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
