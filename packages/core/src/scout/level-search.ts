import type { StrandLook } from '../study/event.ts';
import { warmthOf } from './look.ts';

/** What is known of the window of levels; °C. Null: that side has not been met. */
export interface LevelBracket {
  /** Hottest level seen too cold, below every good one. */
  readonly cold: number | null;
  /** Coldest and hottest level at which the strand held its shape. */
  readonly goodLow: number | null;
  readonly goodHigh: number | null;
  /** Coldest level seen too hot, above every good one. */
  readonly hot: number | null;
}

export type LevelSearch =
  | { readonly kind: 'try'; readonly celsius: number; readonly says: string }
  | { readonly kind: 'bracketed'; readonly bracket: LevelBracket }
  /** Too cold and too hot meet, or the limits leave nothing between. */
  | { readonly kind: 'nothing holds'; readonly bracket: LevelBracket; readonly says: string };

/** An edge is found once the levels on its two sides are this near; °C. */
export const edgeResolutionCelsius = 8;
/** The first level stands this far up the allowed ones: hot, so that the screw cannot stall. */
const firstShare = 0.75;

/**
 * The next level to try, hot to cold by halving: first the hot edge of the window, then the cold one.
 * An edge ends where the limits of grade and line end.
 *
 * @param allowed - levels whose set points break no limit, rising, °C
 * @param steps - levels tried so far with what was seen
 */
export function levelSearch(
  allowed: readonly number[],
  steps: readonly { readonly levelCelsius: number; readonly seen: StrandLook }[],
): LevelSearch {
  const bracket = bracketOf(steps);
  const low = allowed[0];
  const high = allowed.at(-1);
  if (low === undefined || high === undefined) {
    const says = 'No level keeps every zone between the melting floor and the ceiling.';
    return { kind: 'nothing holds', bracket, says };
  }
  if (steps.length === 0) {
    const celsius = nearest(allowed, low + firstShare * (high - low));
    return { kind: 'try', celsius, says: 'Start hot: a hot screw turns, a cold one may stall.' };
  }
  if (bracket.goodLow === null || bracket.goodHigh === null)
    return betweenTheSides(allowed, bracket);
  const between = (a: number, b: number, says: string): LevelSearch => ({
    kind: 'try',
    celsius: nearest(allowed, (a + b) / 2),
    says,
  });
  const hotEnd = bracket.hot ?? high;
  if (isOpen(bracket.goodHigh, hotEnd, bracket.hot === null))
    return between(bracket.goodHigh, hotEnd, 'Half-way to the hot side, to find where it softens.');
  const coldEnd = bracket.cold ?? low;
  if (isOpen(coldEnd, bracket.goodLow, bracket.cold === null))
    return between(
      coldEnd,
      bracket.goodLow,
      'Half-way to the cold side, to find where it stiffens.',
    );
  return { kind: 'bracketed', bracket };
}

/** True while an edge is wider than its resolution; a limit counts as one degree beyond itself. */
const isOpen = (low: number, high: number, isLimit: boolean): boolean =>
  high - low > edgeResolutionCelsius && !(isLimit && high - low < 2);

function betweenTheSides(allowed: readonly number[], bracket: LevelBracket): LevelSearch {
  const low = bracket.cold ?? allowed[0]!;
  const high = bracket.hot ?? allowed.at(-1)!;
  if (high - low <= edgeResolutionCelsius / 2) {
    const says = `Nothing holds its shape between ${low} and ${high} °C at this screw speed and profile. Try a slower screw, or look at the grade's data again.`;
    return { kind: 'nothing holds', bracket, says };
  }
  const says =
    bracket.hot === null
      ? 'Still too cold: half-way to the hottest allowed.'
      : bracket.cold === null
        ? 'Still too hot: half-way to the coldest allowed.'
        : 'Half-way between too cold and too hot.';
  return { kind: 'try', celsius: nearest(allowed, (low + high) / 2), says };
}

/** Reads the bracket off the steps; a look that contradicts its neighbours narrows, never widens. */
export function bracketOf(
  steps: readonly { readonly levelCelsius: number; readonly seen: StrandLook }[],
): LevelBracket {
  const levels = (wanted: (warmth: number) => boolean): number[] =>
    steps.filter(({ seen }) => wanted(warmthOf(seen))).map(({ levelCelsius }) => levelCelsius);
  const good = levels((warmth) => warmth === 0);
  const colds = levels((warmth) => warmth < 0);
  const hots = levels((warmth) => warmth > 0);
  const goodHighest = good.length > 0 ? Math.max(...good) : Number.POSITIVE_INFINITY;
  const cold = highest(colds.filter((celsius) => celsius < goodHighest));
  const goodHere = good.filter((celsius) => cold === null || celsius > cold);
  const goodLow = lowest(goodHere);
  const below = goodLow ?? cold ?? Number.NEGATIVE_INFINITY;
  const hot = lowest(hots.filter((celsius) => celsius > below));
  const goodHigh = highest(goodHere.filter((celsius) => hot === null || celsius < hot));
  return { cold, goodLow, goodHigh, hot };
}

const highest = (values: readonly number[]): number | null =>
  values.length > 0 ? Math.max(...values) : null;
const lowest = (values: readonly number[]): number | null =>
  values.length > 0 ? Math.min(...values) : null;

const nearest = (allowed: readonly number[], celsius: number): number =>
  allowed.reduce((best, one) => (Math.abs(one - celsius) < Math.abs(best - celsius) ? one : best));
