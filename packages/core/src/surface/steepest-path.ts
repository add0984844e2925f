import type { LinearConstraint } from '../design/design.ts';
import { brokenConstraints } from '../design/design.ts';
import { fQuantile } from '../distribution/f.ts';
import { tUpper } from '../distribution/student-t.ts';
import { naturalPoint, type Point } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { isNamed, isNumeric } from '../factor/factor-kind.ts';
import { centredRow } from './factor-effect.ts';
import {
  combinationEstimate,
  type Estimate,
  estimateBack,
  type ResponseSurface,
} from './response-surface.ts';

export interface SteepestStep {
  /** Distance from the centre, coded. */
  readonly distance: number;
  readonly coded: Point;
  readonly natural: Point;
  readonly mean: Estimate;
  /** Beyond the studied range: an extrapolation to be tried, not a result. */
  readonly isOutside: boolean;
  /** The first limit of line or grade that it breaks, in words; null when it keeps all. */
  readonly broken: string | null;
}

export type SteepestPath =
  | {
      readonly kind: 'path';
      readonly steps: readonly SteepestStep[];
      /** Unit direction, by factor, coded. */
      readonly direction: Readonly<Record<string, number>>;
      /** Share of all directions that the data still allow; small is well known. */
      readonly shareOfDirections: number | null;
      readonly says: string;
    }
  | { readonly kind: 'no-slope'; readonly says: string };

export interface SteepestPathOf {
  readonly surface: ResponseSurface;
  readonly factors: readonly Factor[];
  readonly aim: 'smallest' | 'largest';
  readonly constraints?: readonly LinearConstraint[];
  readonly stepLength?: number;
  readonly steps?: number;
  readonly confidence?: number;
}

/**
 * Path of steepest ascent or descent from the centre, by the first-order terms of the model, until a
 * limit of line or grade is broken.
 *
 * The directions not refused by the data make a cone round it. With b the slopes, s² the mean of
 * their variances, and θ the half-angle, sin²θ = (k − 1)·s²·F(k − 1, df)/Σb²; a random direction
 * lies inside with the probability that t on k − 1 df exceeds √(k − 1)·cot θ.
 *
 * @source Box & Draper (1987), Empirical Model-Building and Response Surfaces, section 6.4 (from
 *   memory; the share is tested by simulation)
 */
export function steepestPath(request: SteepestPathOf): SteepestPath {
  const { surface, factors, aim, stepLength = 0.25, steps = 12 } = request;
  const slopes = firstOrder(surface, factors);
  const size = Math.hypot(...slopes.map(({ slope }) => slope));
  if (!(size > 0))
    return { kind: 'no-slope', says: 'The model has no slope at the centre to follow.' };
  const sign = aim === 'largest' ? 1 : -1;
  const taken: SteepestStep[] = [];
  for (let n = 0; n <= steps; n++) {
    const settings = new Float64Array(factors.length);
    for (const { at, slope } of slopes) settings[at] = (sign * slope * n * stepLength) / size;
    const step = stepAt(request, settings, n * stepLength);
    taken.push(step);
    if (step.broken) break;
  }
  const share = shareOfDirections(request, slopes);
  return {
    kind: 'path',
    steps: taken,
    direction: Object.fromEntries(slopes.map(({ name, slope }) => [name, (sign * slope) / size])),
    shareOfDirections: share,
    says: directionWords(share),
  };
}

interface Slope {
  readonly name: string;
  readonly at: number;
  readonly slope: number;
  readonly variance: number | null;
}

function firstOrder(
  { terms, coefficients, covariance }: ResponseSurface,
  factors: readonly Factor[],
) {
  const p = terms.length;
  return factors.flatMap((factor, at): Slope[] => {
    if (!isNumeric(factor)) return [];
    const j = terms.findIndex(
      (powers) => Object.keys(powers).length === 1 && powers[factor.name] === 1,
    );
    if (j < 0) return [];
    const variance = covariance ? covariance[j * p + j]! : null;
    return [{ name: factor.name, at, slope: coefficients[j]!, variance }];
  });
}

function stepAt(
  { surface, factors, constraints = [] }: SteepestPathOf,
  settings: Float64Array,
  distance: number,
): SteepestStep {
  const coded: Record<string, number | string> = {};
  for (const [i, factor] of factors.entries())
    coded[factor.name] = isNamed(factor) ? factor.levels[0]! : settings[i]!;
  return {
    distance,
    coded,
    natural: naturalPoint(coded, factors),
    mean: estimateBack(surface, combinationEstimate(surface, centredRow(surface, settings))),
    isOutside: settings.some((value, i) => isNumeric(factors[i]!) && Math.abs(value) > 1 + 1e-9),
    broken: brokenConstraints(coded, constraints)[0]?.says ?? null,
  };
}

function shareOfDirections(
  { surface, confidence = 0.95 }: SteepestPathOf,
  slopes: readonly Slope[],
): number | null {
  const k = slopes.length;
  if (k < 2) return null;
  const known = slopes.flatMap(({ variance }) => (variance === null ? [] : [variance]));
  if (known.length < k) return null;
  const variance = known.reduce((sum, value) => sum + value, 0) / k;
  const squares = slopes.reduce((sum, { slope }) => sum + slope * slope, 0);
  const critical = (k - 1) * variance * fQuantile(confidence, k - 1, surface.df);
  if (critical >= squares) return 1;
  return tUpper(Math.sqrt((k - 1) * (squares / critical - 1)), k - 1);
}

function directionWords(share: number | null): string {
  if (share === null) return 'How well the direction is known cannot be told.';
  if (share >= 0.5) return 'The direction is not known: any may be right.';
  const percent = 100 * share < 0.1 ? 'less than 0.1' : (100 * share).toPrecision(2);
  return `The data leave ${percent} % of all directions open.`;
}
