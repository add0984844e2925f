import { stationaryPoint } from '../canonical/stationary-point.ts';
import { fQuantile } from '../distribution/f.ts';
import { naturalValue } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import { cholesky, choleskySolve } from '../linear/cholesky.ts';
import { scrambledHalton } from '../random/scrambled-halton.ts';
import { seededUniform } from '../random/uniform.ts';
import {
  type BestPlaces,
  bestPlaces,
  type RegionStretch,
  type StationaryRegionOf,
} from './best-places.ts';
import type { ResponseSurface } from './response-surface.ts';

/** Where the stationary point may be, or, where that question has no good answer, the best place. */
export type StationaryRegion =
  | {
      readonly kind: 'region';
      readonly confidence: number;
      /** At most 1 inside the region: gradient over its covariance, over the critical value. */
      readonly statistic: (settings: Float64Array) => number;
      /** Part of the studied region that it covers, 0 to 1. */
      readonly share: number;
      readonly stretches: readonly RegionStretch[];
      readonly isClosed: boolean;
      readonly says: string;
    }
  | ({ readonly kind: 'simulated'; readonly why: string } & BestPlaces)
  | { readonly kind: 'none'; readonly says: string };

const SAMPLES = 4096;

/**
 * Joint confidence region of the stationary point: the settings at which a level surface (gradient
 * zero) is not refused. With d(x) the fitted gradient and C(x) its covariance, all x with
 * d'C⁻¹d ≤ k·F(k, df).
 *
 * The region is exact whatever its shape, but it speaks of a level point. Where the surface has a
 * saddle or a ridge that point is no optimum, so the best place inside the studied region is
 * simulated from what is believed of the coefficients instead, and that is said.
 *
 * @source Box & Hunter (1954), A confidence region for the solution of a set of simultaneous
 *   equations with an application to experimental design, Biometrika 41:190–199
 */
export function stationaryRegion(request: StationaryRegionOf): StationaryRegion {
  const { surface, factors, confidence = 0.95 } = request;
  if (!surface.covariance || !surface.belief)
    return { kind: 'none', says: 'Nothing can judge the coefficients, so no region can be told.' };
  const found = stationaryPoint(surface.terms, surface.coefficients, factors);
  if (found.kind === 'no-curvature')
    return {
      kind: 'none',
      says: 'The model has no curvature: there is no level point, only a direction.',
    };
  if (found.kind === 'not-quadratic')
    return { kind: 'none', says: 'The model is not of second order.' };
  const isTop = found.nature === 'maximum' || found.nature === 'minimum';
  const statistic = gradientStatistic(surface, factors, confidence);
  if (!isTop || !statistic) {
    const why = isTop
      ? 'The gradient cannot be judged in every direction'
      : `The surface is ${found.nature === 'saddle' ? 'a saddle' : 'a ridge'}, whose level point is no optimum`;
    const places = bestPlaces(request);
    if (!places) return { kind: 'none', says: `${why}, and no setting keeps all limits.` };
    return { kind: 'simulated', why: `${why}: the best place was simulated instead.`, ...places };
  }
  return boxHunter(request, statistic, confidence);
}

/** d'C⁻¹d over k·F, or null when some gradient has no variance (then it is known exactly). */
export function gradientStatistic(
  surface: ResponseSurface,
  factors: readonly Factor[],
  confidence = 0.95,
): ((settings: Float64Array) => number) | null {
  const used = new Set(surface.terms.flatMap((powers) => Object.keys(powers)));
  const positions = factors.flatMap((factor, i) =>
    isNumeric(factor) && used.has(factor.name) ? [i] : [],
  );
  const k = positions.length;
  const p = surface.terms.length;
  const { covariance, coefficients, df } = surface;
  if (!covariance || k === 0) return null;
  const critical = k * fQuantile(confidence, k, df);
  const gradients = new Float64Array(k * p);
  const middle = new Float64Array(factors.length);
  const statisticAt = (settings: Float64Array): number | null => {
    for (const [a, i] of positions.entries())
      gradientRowInto(gradients.subarray(a * p, (a + 1) * p), settings, {
        terms: surface.terms,
        factors,
        along: i,
      });
    const slope = new Float64Array(k);
    const spread = new Float64Array(k * k);
    for (let a = 0; a < k; a++) {
      for (let j = 0; j < p; j++) {
        const g = gradients[a * p + j]!;
        if (g === 0) continue;
        slope[a]! += g * coefficients[j]!;
        for (let b = 0; b <= a; b++) {
          let inner = 0;
          for (let q = 0; q < p; q++) inner += covariance[j * p + q]! * gradients[b * p + q]!;
          spread[a * k + b]! += g * inner;
        }
      }
    }
    const factor = cholesky(spread, k);
    if (factor.kind !== 'factored') return null;
    const solved = choleskySolve(factor.lower, k, slope);
    return slope.reduce((sum, value, a) => sum + value * solved[a]!, 0) / critical;
  };
  if (statisticAt(middle) === null) return null;
  return (settings) => statisticAt(settings) ?? Number.POSITIVE_INFINITY;
}

/** Derivative of each term along one factor; terms with named levels are averaged out. */
function gradientRowInto(
  target: Float64Array,
  settings: Float64Array,
  {
    terms,
    factors,
    along,
  }: {
    readonly terms: ResponseSurface['terms'];
    readonly factors: readonly Factor[];
    readonly along: number;
  },
): void {
  const own = factors[along]!.name;
  for (const [j, powers] of terms.entries()) {
    const power = powers[own];
    if (typeof power !== 'number' || Object.values(powers).some((p) => typeof p === 'string')) {
      target[j] = 0;
      continue;
    }
    let value = power * settings[along]! ** (power - 1);
    for (const [name, other] of Object.entries(powers)) {
      if (name === own) continue;
      value *= settings[factors.findIndex((factor) => factor.name === name)]! ** Number(other);
    }
    target[j] = value;
  }
}

function boxHunter(
  { factors, seed, surface }: StationaryRegionOf,
  statistic: (settings: Float64Array) => number,
  confidence: number,
): StationaryRegion {
  const used = new Set(surface.terms.flatMap((powers) => Object.keys(powers)));
  const positions = factors.flatMap((factor, i) =>
    isNumeric(factor) && used.has(factor.name) ? [i] : [],
  );
  const k = positions.length;
  const low = new Float64Array(k).fill(Number.POSITIVE_INFINITY);
  const high = new Float64Array(k).fill(Number.NEGATIVE_INFINITY);
  const settings = new Float64Array(factors.length);
  const reach = 1.25;
  const note = (): boolean => {
    if (!(statistic(settings) <= 1)) return false;
    for (const [a, i] of positions.entries()) {
      low[a] = Math.min(low[a]!, settings[i]!);
      high[a] = Math.max(high[a]!, settings[i]!);
    }
    return true;
  };
  const found = stationaryPoint(surface.terms, surface.coefficients, factors);
  const top = Float64Array.from(positions, (i) =>
    found.kind === 'found' ? (found.coded?.[factors[i]!.name] ?? 0) : 0,
  );
  const u = new Float64Array(k);
  const sequence = scrambledHalton(k, seededUniform(seed, 'stationary region'));
  for (let n = 0; n < SAMPLES; n++) {
    sequence.pointInto(u, n);
    for (const [a, i] of positions.entries()) settings[i] = reach * (2 * u[a]! - 1);
    note();
  }
  for (let n = 0; n < 64 * k; n++) {
    sequence.pointInto(u, SAMPLES + n);
    const direction = n < 2 * k ? axis(k, n) : u.map((value) => 2 * value - 1);
    goOutwards((t) => {
      for (const [a, i] of positions.entries()) settings[i] = top[a]! + t * direction[a]!;
      return positions.every((i) => Math.abs(settings[i]!) <= reach) && note();
    });
  }
  if (!(low[0]! <= high[0]!)) {
    const says = 'The level point lies beyond the studied range: nothing inside it is level.';
    return {
      kind: 'region',
      confidence,
      statistic,
      share: 0,
      stretches: [],
      isClosed: false,
      says,
    };
  }
  // A small region is counted inside the box that holds it.
  const from = low.map((value) => Math.max(-1, Math.min(1, value)));
  const width = high.map((value, a) => Math.max(0, Math.min(1, value) - from[a]!));
  let inside = 0;
  for (let n = 0; n < SAMPLES; n++) {
    sequence.pointInto(u, n);
    for (const [a, i] of positions.entries()) settings[i] = from[a]! + width[a]! * u[a]!;
    if (statistic(settings) <= 1) inside++;
  }
  const share = width.reduce((product, value) => (product * value) / 2, inside / SAMPLES);
  const stretches = positions.map((i, a): RegionStretch => {
    const factor = factors[i]!;
    if (!isNumeric(factor)) throw new TypeError('only numeric factors have stretches');
    const cut = (coded: number) => naturalValue(Math.max(-1, Math.min(1, coded)), factor);
    return {
      factor: factor.name,
      unit: factor.unit ?? '',
      low: cut(low[a]!),
      high: cut(high[a]!),
      isOpenBelow: low[a]! < -1,
      isOpenAbove: high[a]! > 1,
    };
  });
  const open = stretches.filter((part) => part.isOpenBelow || part.isOpenAbove);
  const isClosed = open.length === 0;
  return {
    kind: 'region',
    confidence,
    statistic,
    share,
    stretches,
    isClosed,
    says: regionWords(share, open, found.kind === 'found' && found.isInside),
  };
}

function axis(k: number, n: number): Float64Array {
  const out = new Float64Array(k);
  out[n >> 1] = n % 2 === 0 ? 1 : -1;
  return out;
}

/** Tries ever finer steps outwards while `isInside` holds. */
function goOutwards(isInside: (t: number) => boolean): void {
  let t = 0;
  for (let step = 0.5; step > 1e-3; step /= 2) while (isInside(t + step)) t += step;
}

function regionWords(share: number, open: readonly RegionStretch[], isInside: boolean): string {
  const percent = share < 0.01 ? 'under 1' : String(Math.round(100 * share));
  const where = isInside ? '' : ' The point itself lies outside the studied range.';
  if (open.length === 0)
    return `The level point is known to within ${percent} % of the studied region.${where}`;
  const names = open.map(({ factor }) => factor).join(', ');
  return `The data leave open where the level point is: its region covers ${percent} % of what was studied and runs out of it in ${names}.${where}`;
}
