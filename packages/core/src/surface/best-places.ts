import { quadraticForm } from '../canonical/stationary-point.ts';
import type { LinearConstraint } from '../design/design.ts';
import { naturalValue } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import { seededUniform } from '../random/uniform.ts';
import { bestInRegion, type FullQuadratic } from './best-in-region.ts';
import { linearLimits } from './linear-limits.ts';
import type { ResponseSurface } from './response-surface.ts';
import { surfaceDraw } from './surface-belief.ts';

/** One factor's stretch of a region, natural units, cut at the studied range. */
export interface RegionStretch {
  readonly factor: string;
  readonly unit: string;
  readonly low: number;
  readonly high: number;
  /** The region goes on beyond the studied range at that end. */
  readonly isOpenBelow: boolean;
  readonly isOpenAbove: boolean;
}

export interface StationaryRegionOf {
  readonly surface: ResponseSurface;
  readonly factors: readonly Factor[];
  readonly constraints?: readonly LinearConstraint[];
  /** Which end is wanted, where the region must be simulated; smallest when left out. */
  readonly aim?: 'smallest' | 'largest';
  readonly confidence?: number;
  readonly seed: number;
}

/** Best settings of many draws of a surface: how well the best place is known. */
export interface BestPlaces {
  readonly confidence: number;
  /** One row a draw, coded, in the order of the factors. */
  readonly places: readonly Float64Array[];
  /** Central stretch of each factor over the draws. */
  readonly stretches: readonly RegionStretch[];
  /** Share of draws whose best place lies on the edge of the studied region. */
  readonly onEdge: number;
  readonly says: string;
}

const DRAWS = 400;

/**
 * The best place inside the studied region and its limits, for each of many draws of the surface.
 * Named factors are averaged over. Null when no setting keeps all limits.
 */
export function bestPlaces({
  surface,
  factors,
  constraints = [],
  aim = 'smallest',
  confidence = 0.95,
  seed,
}: StationaryRegionOf): BestPlaces | null {
  const limits = linearLimits(factors, constraints);
  const free = factors.flatMap((factor, i) => (isNumeric(factor) ? [i] : []));
  const uniform = seededUniform(seed, 'best places');
  const starts = startsOf(factors.length, free);
  const sign = aim === 'largest' ? 1 : -1;
  const places: Float64Array[] = [];
  for (let draw = 0; draw < DRAWS; draw++) {
    const { coefficients } = surfaceDraw(surface.belief!, uniform);
    const form = fullQuadratic(surface, factors, coefficients, sign);
    const last = places.at(-1);
    const found = bestInRegion(form, limits, { starts: last ? [...starts, last] : starts, free });
    if (!found) return null;
    places.push(found.at);
  }
  const tail = (1 - confidence) / 2;
  const stretches = free.map((i): RegionStretch => {
    const factor = factors[i]!;
    if (!isNumeric(factor)) throw new TypeError('only numeric factors have stretches');
    const sorted = Float64Array.from(places, (place) => place[i]!).sort();
    const at = (p: number) => sorted[Math.round(p * (sorted.length - 1))]!;
    return {
      factor: factor.name,
      unit: factor.unit ?? '',
      low: naturalValue(at(tail), factor),
      high: naturalValue(at(1 - tail), factor),
      isOpenBelow: at(tail) < -1 + 1e-6,
      isOpenAbove: at(1 - tail) > 1 - 1e-6,
    };
  });
  const edges = places.filter((place) => free.some((i) => Math.abs(place[i]!) > 1 - 1e-6)).length;
  const onEdge = edges / places.length;
  return {
    confidence,
    places,
    stretches,
    onEdge,
    says: `In ${Math.round(100 * onEdge)} % of draws the best place lies on the edge of the studied region.`,
  };
}

/** The centre and the corners of a half-size box (at most six factors), else the axes. */
function startsOf(k: number, free: readonly number[]): Float64Array[] {
  const out = [new Float64Array(k)];
  const corners = free.length <= 4 ? 2 ** free.length : 0;
  for (let mask = 0; mask < corners; mask++) {
    const at = new Float64Array(k);
    for (const [f, i] of free.entries()) at[i] = (mask >> f) & 1 ? 0.5 : -0.5;
    out.push(at);
  }
  if (corners > 0) return out;
  for (const i of free)
    for (const value of [0.5, -0.5]) {
      const at = new Float64Array(k);
      at[i] = value;
      out.push(at);
    }
  return out;
}

/** A surface's quadratic over the settings of all factors, times a sign; named levels averaged out. */
export function fullQuadratic(
  { terms }: Pick<ResponseSurface, 'terms'>,
  factors: Parameters<typeof quadraticForm>[2],
  coefficients: Float64Array,
  sign = 1,
): FullQuadratic {
  const form = quadraticForm(terms, coefficients, factors);
  const n = factors.length;
  const k = form.factors.length;
  const at = form.factors.map(({ name }) => factors.findIndex((factor) => factor.name === name));
  const linear = new Float64Array(n);
  const quadratic = new Float64Array(n * n);
  for (let a = 0; a < k; a++) {
    linear[at[a]!] = sign * form.linear[a]!;
    for (let b = 0; b < k; b++)
      quadratic[at[a]! * n + at[b]!] = sign * form.quadratic.data[a * k + b]!;
  }
  return { constant: sign * form.constant, linear, quadratic };
}
