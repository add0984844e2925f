import { normalLower } from '../distribution/normal.ts';
import { tLower } from '../distribution/student-t.ts';
import { combinationDf, onScale, type ResponseSurface } from './response-surface.ts';
import { rowScale } from './surface-belief.ts';

/** A limit that a spool must keep, in the response's own unit. */
export interface Requirement {
  readonly response: string;
  readonly atMost?: number;
  readonly atLeast?: number;
  readonly says: string;
}

/** A requirement with the surface that judges it. */
export interface JudgedRequirement {
  readonly requirement: Requirement;
  readonly surface: ResponseSurface;
}

/** A requirement's limits on the scale of its surface; infinite where there is none. */
export function scaledLimits({ requirement, surface }: JudgedRequirement): {
  readonly low: number;
  readonly high: number;
} {
  const { atLeast, atMost } = requirement;
  return {
    low: atLeast === undefined ? Number.NEGATIVE_INFINITY : onScale(surface, atLeast),
    high: atMost === undefined ? Number.POSITIVE_INFINITY : onScale(surface, atMost),
  };
}

/**
 * Probability that one new set-up keeps a requirement, in closed form: from the predictive
 * distribution of its surface, which holds the uncertainty of the coefficients and of the variances,
 * and the variation from set-up to set-up. Of a rate of counts it is the true rate that must keep
 * the limit.
 *
 * @param settings - coded, in the order of the factors, hit exactly
 * @returns 0 to 1; null when nothing can judge it
 */
export function keepingProbability(
  judged: JudgedRequirement,
  settings: Float64Array,
): number | null {
  const { surface } = judged;
  const { belief } = surface;
  if (!belief) return null;
  const { low, high } = scaledLimits(judged);
  const row = surface.row(settings);
  const isSingle = belief.nodes.length === 1;
  const df = isSingle ? combinationDf(surface, row, surface.noiseVariance) : belief.df;
  let sum = 0;
  for (const node of belief.nodes) {
    let center = 0;
    for (let j = 0; j < row.length; j++) center += row[j]! * node.coefficients[j]!;
    const scale = Math.sqrt(rowScale(node, row) + node.noise);
    sum += node.weight * between(low, high, { center, scale, df });
  }
  return Math.max(0, Math.min(1, sum));
}

function between(
  low: number,
  high: number,
  { center, scale, df }: { readonly center: number; readonly scale: number; readonly df: number },
): number {
  const below = (limit: number): number => {
    if (limit === Number.POSITIVE_INFINITY) return 1;
    if (limit === Number.NEGATIVE_INFINITY) return 0;
    if (scale === 0) return center <= limit ? 1 : 0;
    const t = (limit - center) / scale;
    return Number.isFinite(df) ? tLower(t, df) : normalLower(t);
  };
  return below(high) - below(low);
}

/**
 * Probability that a spool conforms when responses are independent and settings are hit exactly:
 * every requirement kept and a strand formed. See `conformanceModel` for the whole of it.
 *
 * @param strandForms - probability that a strand forms at the settings
 * @returns 0 to 1; null when some requirement cannot be judged
 */
export function conformingProbability(
  judged: readonly JudgedRequirement[],
  strandForms: (settings: Float64Array) => number,
  settings: Float64Array,
): number | null {
  let probability = strandForms(settings);
  for (const each of judged) {
    const keeping = keepingProbability(each, settings);
    if (keeping === null) return null;
    probability *= keeping;
  }
  return probability;
}
