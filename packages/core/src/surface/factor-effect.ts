import { naturalValue } from '../factor/coding.ts';
import type { Factor, NumericFactor } from '../factor/factor.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import { seededUniform } from '../random/uniform.ts';
import { combinationEstimate, type Estimate, type ResponseSurface } from './response-surface.ts';
import { surfaceDraw } from './surface-belief.ts';

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
  /** Where the response turns along the factor, when it bends inside the range; natural units. */
  readonly bend: FactorBend | null;
  readonly reading: 'rises' | 'falls' | 'bends' | 'cannot tell';
  /** In words: "best near 194 °C (188 … 199)", "rises", "cannot tell". */
  readonly says: string;
}

/** The turning point along a factor with its interval, natural units, cut at the studied range. */
export interface FactorBend {
  readonly kind: 'bowl' | 'dome';
  readonly at: number;
  /** Central interval over what is believed of the coefficients; null without belief. */
  readonly low: number | null;
  readonly high: number | null;
  /** The bend itself is clear of zero. */
  readonly isClear: boolean;
}

export interface EffectOptions {
  readonly confidence?: number;
  /** What is wanted of the response; "best" is said only of a turn on the wanted side. */
  readonly aim?: 'smallest' | 'largest' | 'target' | undefined;
  readonly seed?: number;
}

const STEPS = 40;
const DRAWS = 400;

/** Effects of all numeric factors, largest span first. */
export function factorEffects(
  surface: ResponseSurface,
  factors: readonly Factor[],
  options: EffectOptions = {},
): FactorEffect[] {
  return factors
    .flatMap((factor, i) =>
      isNumeric(factor) ? [factorEffect(surface, factors, { factor, i, ...options })] : [],
    )
    .sort((a, b) => b.span - a.span);
}

function factorEffect(
  surface: ResponseSurface,
  factors: readonly Factor[],
  of: EffectOptions & { readonly factor: NumericFactor; readonly i: number },
): FactorEffect {
  const { factor, i, confidence = 0.95 } = of;
  const row = (coded: number): Float64Array => {
    const settings = new Float64Array(factors.length);
    settings[i] = coded;
    return centredRow(surface, settings);
  };
  const contrast = rowDifference(surface, row(1), row(-1), confidence);
  const rows = Array.from({ length: STEPS + 1 }, (_, s) => row(-1 + (2 * s) / STEPS));
  const values = rows.map((each) => dot(each, surface.coefficients));
  const bend = bendOf(surface, rows, of);
  const isClear = isClearOfZero(contrast);
  const reading = bend?.isClear
    ? 'bends'
    : isClear
      ? contrast.value > 0
        ? 'rises'
        : 'falls'
      : 'cannot tell';
  const asChange = changeOf(surface);
  return {
    factor: factor.name,
    unit: factor.unit ?? '',
    low: factor.low,
    high: factor.high,
    isRatio: isLogScale(surface),
    change: changed(surface, contrast),
    span: asChange(Math.max(...values) - Math.min(...values)),
    bend,
    reading,
    says: bend && reading === 'bends' ? bendWords(bend, factor, of.aim) : reading,
  };
}

/**
 * Model terms at numeric settings with every named factor averaged over its levels, so that "centre"
 * favours no level: terms that hold a named level are zero.
 */
export function centredRow(surface: ResponseSurface, settings: Float64Array): Float64Array {
  const row = surface.row(settings);
  for (const [j, powers] of surface.terms.entries())
    if (Object.values(powers).some((power) => typeof power === 'string')) row[j] = 0;
  return row;
}

/** True where a difference on the surface's scale is a ratio of the response. */
export const isLogScale = ({ scale }: Pick<ResponseSurface, 'scale'>): boolean =>
  scale === 'ln response' || scale === 'ln rate';

/** A difference on the surface's scale as a change: a ratio less 1 on a log scale. */
export const changeOf =
  (surface: ResponseSurface) =>
  (difference: number): number =>
    isLogScale(surface) ? Math.expm1(difference) : difference;

/** An estimated difference as an estimated change. */
export function changed(surface: ResponseSurface, { value, low, high }: Estimate): Estimate {
  const change = changeOf(surface);
  return {
    value: change(value),
    low: low === null ? null : change(low),
    high: high === null ? null : change(high),
  };
}

export const isClearOfZero = ({ low, high }: Estimate): boolean =>
  low !== null && high !== null && low * high > 0;

/** Difference of the fitted means of two rows of terms, with its interval, on the surface's scale. */
export function rowDifference(
  surface: ResponseSurface,
  to: Float64Array,
  from: Float64Array,
  confidence = 0.95,
): Estimate {
  return combinationEstimate(
    surface,
    to.map((value, j) => value - from[j]!),
    { confidence },
  );
}

/** Difference of the fitted means at two places, with its interval, on the surface's scale. */
export function difference(
  surface: ResponseSurface,
  to: Float64Array,
  from: Float64Array,
  confidence = 0.95,
): Estimate {
  return rowDifference(surface, surface.row(to), surface.row(from), confidence);
}

/** A turning point strictly inside the range, and whether the square behind it is clear of zero. */
function bendOf(
  surface: ResponseSurface,
  rows: readonly Float64Array[],
  { factor, confidence = 0.95, seed = 1 }: EffectOptions & { readonly factor: NumericFactor },
): FactorBend | null {
  const square = surface.terms.findIndex(
    (powers) => Object.keys(powers).length === 1 && powers[factor.name] === 2,
  );
  if (square < 0) return null;
  const only = new Float64Array(surface.terms.length);
  only[square] = 1;
  const curvature = combinationEstimate(surface, only, { confidence });
  const kind = curvature.value > 0 ? 'bowl' : 'dome';
  const at = bestAlong(rows, surface.coefficients, kind);
  if (Math.abs(at) >= 1) return null;
  const { belief } = surface;
  const uniform = seededUniform(seed, `bend ${factor.name}`);
  const turns = belief
    ? Float64Array.from({ length: DRAWS }, () =>
        bestAlong(rows, surfaceDraw(belief, uniform).coefficients, kind),
      ).sort()
    : null;
  const tail = (1 - confidence) / 2;
  const quantile = (p: number): number | null =>
    turns && naturalValue(turns[Math.round(p * (DRAWS - 1))]!, factor);
  return {
    kind,
    at: naturalValue(at, factor),
    low: quantile(tail),
    high: quantile(1 - tail),
    isClear: isClearOfZero(curvature),
  };
}

/** Coded place of the smallest (bowl) or largest (dome) value along evenly spaced rows, −1 to 1. */
function bestAlong(
  rows: readonly Float64Array[],
  coefficients: Float64Array,
  kind: 'bowl' | 'dome',
): number {
  const sign = kind === 'bowl' ? -1 : 1;
  const values = rows.map((row) => sign * dot(row, coefficients));
  let best = 0;
  for (let s = 1; s < values.length; s++) if (values[s]! > values[best]!) best = s;
  const step = 2 / (values.length - 1);
  if (best === 0 || best === values.length - 1) return best === 0 ? -1 : 1;
  const [before, top, after] = [values[best - 1]!, values[best]!, values[best + 1]!];
  const bend = before - 2 * top + after;
  return -1 + step * (best + (bend < 0 ? (before - after) / (2 * bend) : 0));
}

function bendWords(
  { kind, at, low, high }: FactorBend,
  { low: from, high: to, unit = '' }: NumericFactor,
  aim: EffectOptions['aim'],
): string {
  const wanted = aim === 'smallest' ? 'bowl' : aim === 'largest' ? 'dome' : null;
  const word = wanted === kind ? 'best' : kind === 'bowl' ? 'lowest' : 'highest';
  const digits = Math.max(0, Math.min(3, 2 - Math.floor(Math.log10(to - from))));
  const text = (value: number): string => value.toFixed(digits);
  const interval = low === null || high === null ? '' : ` (${text(low)} … ${text(high)})`;
  return `${word} near ${text(at)}${unit === '' ? '' : ` ${unit}`}${interval}`;
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < a.length; j++) sum += a[j]! * b[j]!;
  return sum;
}
