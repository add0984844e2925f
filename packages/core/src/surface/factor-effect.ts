import { normalUpperQuantile } from '../distribution/normal.ts';
import { tUpperQuantile } from '../distribution/student-t.ts';
import { naturalValue } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import type { Estimate, ResponseSurface } from './response-surface.ts';

/**
 * What one numeric factor does to one response from its low to its high setting, all others at
 * centre. On a log scale the change is a ratio less 1 (0.38 is +38 %), else a difference.
 */
export interface FactorEffect {
  readonly factor: string;
  readonly unit: string;
  readonly low: number;
  readonly high: number;
  readonly isRatio: boolean;
  readonly change: Estimate;
  /** Largest less smallest fitted value along the factor, as a change of the same kind. */
  readonly span: number;
  /** Where the response is best along the factor, when it bends inside the range; natural units. */
  readonly bend: {
    readonly kind: 'bowl' | 'dome';
    readonly at: number;
    readonly isClear: boolean;
  } | null;
  readonly reading: 'rises' | 'falls' | 'bends' | 'cannot tell';
}

const STEPS = 40;

/** Effects of all numeric factors, largest span first. */
export function factorEffects(
  surface: ResponseSurface,
  factors: readonly Factor[],
  confidence = 0.95,
): FactorEffect[] {
  return factors
    .flatMap((factor, i) =>
      isNumeric(factor) ? [factorEffect(surface, factors, i, confidence)] : [],
    )
    .sort((a, b) => b.span - a.span);
}

function factorEffect(
  surface: ResponseSurface,
  factors: readonly Factor[],
  i: number,
  confidence: number,
): FactorEffect {
  const factor = factors[i]!;
  if (!isNumeric(factor)) throw new TypeError(`"${factor.name}" has named levels`);
  const at = (coded: number): Float64Array => {
    const settings = new Float64Array(factors.length);
    settings[i] = coded;
    return settings;
  };
  const isRatio = surface.scale === 'ln response' || surface.scale === 'ln rate';
  const asChange = (difference: number): number => (isRatio ? Math.expm1(difference) : difference);
  const contrast = difference(surface, at(1), at(-1), confidence);
  const values = Array.from({ length: STEPS + 1 }, (_, s) =>
    surface.mean(at(-1 + (2 * s) / STEPS)),
  );
  const bend = bendOf(surface, factor.name, values, confidence);
  const isClear =
    contrast.low !== null && contrast.high !== null && contrast.low * contrast.high > 0;
  return {
    factor: factor.name,
    unit: factor.unit ?? '',
    low: factor.low,
    high: factor.high,
    isRatio,
    change: {
      value: asChange(contrast.value),
      low: contrast.low === null ? null : asChange(contrast.low),
      high: contrast.high === null ? null : asChange(contrast.high),
    },
    span: asChange(Math.max(...values) - Math.min(...values)),
    bend: bend && { ...bend, at: naturalValue(bend.at, factor) },
    reading: bend?.isClear
      ? 'bends'
      : isClear
        ? contrast.value > 0
          ? 'rises'
          : 'falls'
        : 'cannot tell',
  };
}

/** Difference of the fitted means at two places, with its interval, on the surface's scale. */
export function difference(
  { covariance, df, mean, row }: ResponseSurface,
  to: Float64Array,
  from: Float64Array,
  confidence = 0.95,
): Estimate {
  const value = mean(to) - mean(from);
  if (!covariance) return { value, low: null, high: null };
  const a = row(to);
  const b = row(from);
  const p = a.length;
  let variance = 0;
  for (let j = 0; j < p; j++) {
    for (let k = 0; k < p; k++)
      variance += (a[j]! - b[j]!) * covariance[j * p + k]! * (a[k]! - b[k]!);
  }
  const tail = (1 - confidence) / 2;
  const quantile = Number.isFinite(df) ? tUpperQuantile(tail, df) : normalUpperQuantile(tail);
  const half = quantile * Math.sqrt(Math.max(0, variance));
  return { value, low: value - half, high: value + half };
}

/** A turning point strictly inside the range, and whether the square behind it is clear of zero. */
function bendOf(
  { terms, coefficients, covariance, df }: ResponseSurface,
  name: string,
  values: readonly number[],
  confidence: number,
): { kind: 'bowl' | 'dome'; at: number; isClear: boolean } | null {
  const square = terms.findIndex(
    (powers) => Object.keys(powers).length === 1 && powers[name] === 2,
  );
  if (square < 0) return null;
  const curvature = coefficients[square]!;
  const best = values.indexOf(curvature > 0 ? Math.min(...values) : Math.max(...values));
  if (best === 0 || best === STEPS) return null;
  const p = coefficients.length;
  const tail = (1 - confidence) / 2;
  const quantile = Number.isFinite(df) ? tUpperQuantile(tail, df) : normalUpperQuantile(tail);
  const half = covariance
    ? quantile * Math.sqrt(covariance[square * p + square]!)
    : Number.POSITIVE_INFINITY;
  return {
    kind: curvature > 0 ? 'bowl' : 'dome',
    at: -1 + (2 * best) / STEPS,
    isClear: Math.abs(curvature) > half,
  };
}
