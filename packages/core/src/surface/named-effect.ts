import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';
import { changed, isClearOfZero, isLogScale, rowDifference } from './factor-effect.ts';
import {
  combinationEstimate,
  type Estimate,
  estimateBack,
  type ResponseSurface,
} from './response-surface.ts';

/** One level of a named factor, numeric factors at centre and other named ones averaged. */
export interface LevelEffect {
  readonly level: string;
  readonly mean: Estimate;
  /** Against the average of all levels: a ratio less 1 on a log scale, else a difference. */
  readonly change: Estimate;
}

/** What a factor with named levels does. */
export interface NamedEffect {
  readonly factor: string;
  readonly isRatio: boolean;
  /** In the order of the factor. */
  readonly levels: readonly LevelEffect[];
  /** Largest difference of two levels, and whether it is clear (all pairs judged together). */
  readonly widest: {
    readonly high: string;
    readonly low: string;
    readonly change: Estimate;
    readonly isClear: boolean;
  };
  readonly says: string;
}

/** Effects of all factors with named levels that the model holds. */
export function namedEffects(
  surface: ResponseSurface,
  factors: readonly Factor[],
  confidence = 0.95,
): NamedEffect[] {
  const used = new Set(surface.terms.flatMap((powers) => Object.keys(powers)));
  return factors.flatMap((factor, i) =>
    isNamed(factor) && used.has(factor.name) ? [namedEffect(surface, factors, i, confidence)] : [],
  );
}

function namedEffect(
  surface: ResponseSurface,
  factors: readonly Factor[],
  i: number,
  confidence: number,
): NamedEffect {
  const factor = factors[i]!;
  if (!isNamed(factor)) throw new TypeError(`"${factor.name}" has no named levels`);
  const rows = factor.levels.map((_, level) => levelRow(surface, factors, i, level));
  const average = rows[0]!.map((_, j) => rows.reduce((sum, row) => sum + row[j]! / rows.length, 0));
  const levels = rows.map(
    (row, level): LevelEffect => ({
      level: factor.levels[level]!,
      mean: estimateBack(surface, combinationEstimate(surface, row, { confidence })),
      change: changed(surface, rowDifference(surface, row, average, confidence)),
    }),
  );
  const fitted = rows.map((row) => combinationEstimate(surface, row).value);
  const high = fitted.indexOf(Math.max(...fitted));
  const low = fitted.indexOf(Math.min(...fitted));
  // The widest of m(m − 1)/2 pairs was picked after looking: each pair gets its share of the doubt.
  const pairs = (rows.length * (rows.length - 1)) / 2;
  const contrast = rowDifference(surface, rows[high]!, rows[low]!, 1 - (1 - confidence) / pairs);
  const isClear = isClearOfZero(contrast);
  const names = { high: factor.levels[high]!, low: factor.levels[low]! };
  return {
    factor: factor.name,
    isRatio: isLogScale(surface),
    levels,
    widest: { ...names, change: changed(surface, contrast), isClear },
    says: isClear ? `${names.high} lies above ${names.low}` : 'cannot tell',
  };
}

/** Terms at one level, numeric factors at centre, other named factors averaged out. */
function levelRow(
  surface: ResponseSurface,
  factors: readonly Factor[],
  i: number,
  level: number,
): Float64Array {
  const settings = new Float64Array(factors.length);
  settings[i] = level;
  const own = factors[i]!.name;
  const row = surface.row(settings);
  for (const [j, powers] of surface.terms.entries())
    for (const [name, power] of Object.entries(powers))
      if (typeof power === 'string' && name !== own) row[j] = 0;
  return row;
}
