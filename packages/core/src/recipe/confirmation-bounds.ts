import { normalLower } from '../distribution/normal.ts';
import { poissonLower } from '../distribution/poisson.ts';
import { tQuantile, tUpperQuantile } from '../distribution/student-t.ts';
import { settingsOf } from '../surface/polynomial.ts';
import {
  backOnScale,
  combinationDf,
  combinationEstimate,
  type Estimate,
  estimateBack,
  meanVariance,
  onScale,
  type ResponseSurface,
} from '../surface/response-surface.ts';
import { usualExposure } from './expected-gain.ts';
import type { Predictor } from './predictor.ts';
import type { Recipe } from './recommendation.ts';

/** Where fresh set-ups of a recipe must fall, for one response, in its own unit. */
export interface ConfirmationBound {
  readonly response: string;
  readonly unit: string;
  readonly expected: number;
  /** Each single set-up. */
  readonly each: { readonly low: number; readonly high: number };
  /** The mean of all set-ups (geometric for a spread, events over length for a count). */
  readonly mean: { readonly low: number; readonly high: number };
  /** Length looked at in each set-up, of a count; null for others. */
  readonly metres: number | null;
}

/** How many fresh set-ups confirm a recipe, and what they must show. */
export interface ConfirmationBounds {
  readonly setUps: number;
  /** Of all bounds together: a recipe as predicted stays inside all of them this often at least. */
  readonly confidence: number;
  readonly bounds: readonly ConfirmationBound[];
  /**
   * Chance that the set-ups would show it if the true mean stood at a requirement's limit, the least
   * over the requirements; null without any.
   */
  readonly wouldCatch: number | null;
  readonly says: string;
}

export interface ConfirmationOf {
  /** Fresh set-ups; the fewest of 3 to 6 that would catch a recipe at its limit when left out. */
  readonly setUps?: number;
  readonly confidence?: number;
  /** Length in which bubbles are counted in each set-up; that of a usual cell when left out. */
  readonly metres?: number;
}

/** Common practice, no source: three to six fresh set-ups. */
const FEWEST = 3;
const MOST = 6;
const CATCH = 0.8;

/** Bounds for a recipe; null when no surface can be judged there. */
export function confirmationBounds(
  predictor: Predictor,
  recipe: Pick<Recipe, 'coded'>,
  options: ConfirmationOf = {},
): ConfirmationBounds | null {
  const { surfaces, state } = predictor;
  const settings = settingsOf(recipe.coded, state.opened.factors);
  const told = surfaces.filter(({ belief, scale }) => belief && scale !== 'log odds');
  if (told.length === 0) return null;
  const { confidence = 0.95 } = options;
  const catching = (m: number) => wouldCatch(predictor, settings, { m, confidence });
  let setUps = options.setUps ?? FEWEST;
  if (options.setUps === undefined)
    while (setUps < MOST && (catching(setUps) ?? 1) < CATCH) setUps++;
  const metres = options.metres ?? usualExposure(predictor);
  const bounds = told.map((surface) =>
    boundOf(surface, settings, {
      setUps,
      metres: surface.scale === 'ln rate' ? metres : null,
      // Half the doubt goes to the means, half to the single set-ups; each shared out evenly.
      meanLevel: 1 - (1 - confidence) / 2 / told.length,
      eachLevel: 1 - (1 - confidence) / 2 / (told.length * setUps),
      unit: unitOf(predictor, surface.name),
    }),
  );
  const caught = catching(setUps);
  return {
    setUps,
    confidence,
    bounds,
    wouldCatch: caught,
    says: boundWords(setUps, caught),
  };
}

function boundWords(setUps: number, caught: number | null): string {
  const start = `${setUps} fresh set-ups, each after a change away and back`;
  if (caught === null) return `${start}.`;
  const percent = `${Math.round(100 * caught)} %`;
  return caught >= CATCH
    ? `${start}, would show in ${percent} of cases that the recipe really stands at a limit.`
    : `${start}, would show in only ${percent} of cases that the recipe really stands at a limit: the prediction is too wide for a sharper test.`;
}

interface BoundOf {
  readonly setUps: number;
  readonly metres: number | null;
  readonly meanLevel: number;
  readonly eachLevel: number;
  readonly unit: string;
}

function boundOf(
  surface: ResponseSurface,
  settings: Float64Array,
  { setUps, metres, meanLevel, eachLevel, unit }: BoundOf,
): ConfirmationBound {
  const row = surface.row(settings);
  const interval = (noiseShare: number, confidence: number): { low: number; high: number } => {
    if (metres !== null) {
      const length = noiseShare === 1 ? metres : setUps * metres;
      return countInterval(surface, settings, { noiseShare, confidence, length });
    }
    const found: Estimate = combinationEstimate(surface, row, { noiseShare, confidence });
    const { low, high } = estimateBack(surface, found);
    return { low: low!, high: high! };
  };
  return {
    response: surface.name,
    unit,
    expected: backOnScale(surface, surface.mean(settings)),
    each: interval(1, eachLevel),
    mean: interval(1 / setUps, meanLevel),
    metres,
  };
}

const RATES = 200;
/** A rate known to hardly a power of ten has no upper bound worth counting to. */
const MOST_EVENTS = 1e6;

/** Rates that a count over a length may show: Poisson about a rate that is itself uncertain. */
function countInterval(
  surface: ResponseSurface,
  settings: Float64Array,
  {
    noiseShare,
    confidence,
    length,
  }: { readonly noiseShare: number; readonly confidence: number; readonly length: number },
): { low: number; high: number } {
  const noise = noiseShare * surface.noiseVariance;
  const sd = Math.sqrt((meanVariance(surface, settings) ?? 0) + noise);
  const df = combinationDf(surface, surface.row(settings), noise);
  const means = Float64Array.from({ length: RATES }, (_, i) =>
    Math.min(
      MOST_EVENTS,
      length * Math.exp(surface.mean(settings) + sd * tQuantile((i + 0.5) / RATES, df)),
    ),
  );
  const below = (count: number): number =>
    means.reduce((sum, mean) => sum + poissonLower(count, mean) / RATES, 0);
  const tail = (1 - confidence) / 2;
  let low = 0;
  while (below(low) <= tail) low++;
  let high = low;
  for (let step = 1; below(high) < 1 - tail; step = Math.ceil(step * 1.5)) high += step;
  while (high > low && below(high - 1) >= 1 - tail) high--;
  return { low: low / length, high: high / length };
}

/**
 * Least chance over the requirements that the mean of m set-ups leaves its bound when the true mean
 * stands at the limit: with room d to the limit, Φ((d − t·√(v + n/m))/√(n/m)).
 */
function wouldCatch(
  { judged, surfaces }: Predictor,
  settings: Float64Array,
  { m, confidence }: { readonly m: number; readonly confidence: number },
): number | null {
  const level = (1 - confidence) / 4 / Math.max(1, surfaces.length);
  const chances = judged.flatMap(({ requirement: { atMost, atLeast }, surface }) => {
    const variance = meanVariance(surface, settings);
    const noise = surface.noiseVariance / m;
    if (variance === null || !(noise > 0)) return [];
    const t = tUpperQuantile(level, combinationDf(surface, surface.row(settings), noise));
    const reach = t * Math.sqrt(variance + noise);
    return [atMost, atLeast].flatMap((limit) => {
      if (limit === undefined) return [];
      const room = Math.abs(onScale(surface, limit) - surface.mean(settings));
      return [normalLower((room - reach) / Math.sqrt(noise))];
    });
  });
  return chances.length > 0 ? Math.min(...chances) : null;
}

function unitOf({ state }: Predictor, name: string): string {
  const response = state.opened.responses.find((each) => each.name === name);
  return response?.kind === 'count' ? 'per m' : (response?.unit ?? '');
}
