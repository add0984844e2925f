import { normalUpperQuantile } from '../distribution/normal.ts';
import { DomainError } from '../error/domain-error.ts';
import type { Factor, NumericFactor } from '../factor/factor.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import { seededUniform } from '../random/uniform.ts';
import type { Predictor } from '../recipe/predictor.ts';
import { keepsLimits, linearLimits } from '../surface/linear-limits.ts';
import { seenShare, shiftErrors } from './shift-information.ts';
import {
  type CheckPlace,
  type ShiftedModel,
  shiftedModel,
  usualMetres,
  type WatchedFactor,
} from './shifted-model.ts';

/** Check runs with what they can see. */
export interface CheckRuns {
  /** Coded settings, in the order to run them: sides in turn, so that a drift of the day is no shift. */
  readonly places: readonly CheckPlace[];
  readonly watched: readonly WatchedFactor[];
  /** Standard error of each shift, natural units. */
  readonly standardErrors: readonly number[];
  /**
   * Chance to see a shift of this size at 5 %, over what is believed of the surfaces; for factors in °C,
   * null for others.
   */
  readonly chanceToSee: readonly (number | null)[];
  readonly says: string;
}

export interface CheckRunsOf {
  readonly predictor: Predictor;
  /** Coded settings of the recipe. */
  readonly recipe: Float64Array;
  readonly runs: number;
  /** Names of the factors that may have moved; the level when left out. */
  readonly watch?: readonly string[];
  /** Shift whose chance is told, °C. */
  readonly shiftCelsius?: number;
}

/** Shift that a lot is asked about unless said otherwise, °C. */
export const usualShiftCelsius = 3;
const significance = 0.05;

/** The factors of a study by name, as watched ones. */
export function watchedFactors(
  factors: readonly Factor[],
  names?: readonly string[],
): WatchedFactor[] {
  const numeric = factors.flatMap((factor, index) =>
    isNumeric(factor) ? [{ factor, index }] : [],
  );
  const wanted = names ?? [
    (numeric.find(({ factor }) => factor.acts === 'level') ?? numeric[0])?.factor.name ?? '',
  ];
  return wanted.map((name) => {
    const found = numeric.find(({ factor }) => factor.name === name);
    if (!found) {
      throw new DomainError(
        'unknown_factor',
        `watchedFactors: a watched factor must be a numeric one of the study; got "${name}". Known: ${numeric.map(({ factor }) => factor.name).join(', ')}.`,
        { name },
      );
    }
    return watchedOf(found.factor, found.index);
  });
}

const watchedOf = (factor: NumericFactor, index: number): WatchedFactor => ({
  name: factor.name,
  unit: factor.unit ?? '',
  index,
  perCoded: (factor.high - factor.low) / 2,
});

/**
 * Few runs that show best whether the optimum has moved. At the optimum itself a surface is flat, so a
 * run there sees no shift; runs on the flanks to both sides do, and together they tell a shift from a
 * change of the whole lot. Places are added one by one, each time that which leaves the shifts best
 * known, then exchanged while that helps.
 *
 * @throws {DomainError} `check_runs` when there are fewer runs than a shift and a lot need
 * @throws {DomainError} `nothing_sees` when no response bends or slopes along what is watched
 */
export function checkRuns(options: CheckRunsOf): CheckRuns {
  const { predictor, recipe, runs, watch, shiftCelsius = usualShiftCelsius } = options;
  const { factors } = predictor.state.opened;
  const watched = watchedFactors(factors, watch);
  const model = shiftedModel(predictor, watched);
  const least = watched.length + 1;
  if (!(Number.isInteger(runs) && runs >= least && runs <= 30)) {
    throw new DomainError(
      'check_runs',
      `checkRuns: runs must be a whole number from ${least} to 30; got ${runs}. Four to eight are usual.`,
      { runs },
    );
  }
  const candidates = candidatePlaces(predictor, recipe, watched);
  const chosen = exchanged(grown(candidates, runs, model), candidates, model);
  const errors = shiftErrors(chosen, model);
  if (!errors || errors.some((error) => !Number.isFinite(error))) throw nothingSees(watched);
  const z = normalUpperQuantile(significance / 2);
  const seed = predictor.state.opened.seed;
  const chanceToSee = watched.map(({ unit }, w) =>
    unit === '°C'
      ? seenShare(chosen, model, {
          w,
          shift: shiftCelsius,
          z,
          uniform: seededUniform(seed, 'check'),
        })
      : null,
  );
  return {
    places: inTurn(chosen, watched[0]!),
    watched,
    standardErrors: errors,
    chanceToSee,
    says: watched
      .map(({ name, unit }, w) => {
        const seen = chanceToSee[w];
        const chance =
          seen == null
            ? ''
            : `; a shift of ${shiftCelsius} °C is seen with chance ${seen.toFixed(2)}`;
        return `${runs} runs know a shift of ${name} to ±${(z * errors[w]!).toFixed(1)} ${unit}${chance}.`;
      })
      .join(' '),
  };
}

const nothingSees = (watched: readonly WatchedFactor[]): DomainError =>
  new DomainError(
    'nothing_sees',
    `checkRuns: some response must change along ${watched.map(({ name }) => name).join(', ')}; got flat surfaces. Check another factor, or qualify anew.`,
  );

/** Places on both flanks of the recipe; the rest stays as the recipe has it, where the model is best. */
function candidatePlaces(
  { state, constraints }: Predictor,
  recipe: Float64Array,
  watched: readonly WatchedFactor[],
): CheckPlace[] {
  const { factors } = state.opened;
  const limits = linearLimits(factors, constraints, reachOf(recipe, factors));
  // The very ends of a range are where strands fail; they are not needed to see a slope.
  const flanks = [-0.8, -0.6, -0.4, 0.4, 0.6, 0.8];
  return [
    recipe,
    ...watched.flatMap(({ index }) => flanks.map((at) => withSetting(recipe, index, at))),
  ]
    .filter((place) => keepsLimits(place, limits))
    .map((settings) => ({ settings, metres: usualMetres }));
}

const reachOf = (recipe: Float64Array, factors: readonly Factor[]): number =>
  Math.max(1, ...factors.map((factor, i) => (isNumeric(factor) ? Math.abs(recipe[i]!) : 0)));

function withSetting(place: Float64Array, index: number, value: number): Float64Array {
  const out = place.slice();
  out[index] = value;
  return out;
}

function grown(candidates: readonly CheckPlace[], runs: number, model: ShiftedModel): CheckPlace[] {
  const chosen: CheckPlace[] = [];
  while (chosen.length < runs) {
    const best = candidates.reduce<{ place: CheckPlace; doubt: number } | null>((found, place) => {
      const doubt = doubtOf([...chosen, place], model);
      return found === null || doubt < found.doubt ? { place, doubt } : found;
    }, null);
    chosen.push(best!.place);
  }
  return chosen;
}

function exchanged(
  start: readonly CheckPlace[],
  candidates: readonly CheckPlace[],
  model: ShiftedModel,
): CheckPlace[] {
  const chosen = [...start];
  let doubt = doubtOf(chosen, model);
  for (let pass = 0; pass < 10; pass++) {
    const before = doubt;
    for (let i = 0; i < chosen.length; i++) {
      for (const place of candidates) {
        const kept = chosen[i]!;
        chosen[i] = place;
        const tried = doubtOf(chosen, model);
        if (tried < doubt - 1e-12) doubt = tried;
        else chosen[i] = kept;
      }
    }
    if (doubt >= before - 1e-9) break;
  }
  return chosen;
}

/** Sum of ln variances of the shifts. */
function doubtOf(places: readonly CheckPlace[], model: ShiftedModel): number {
  const errors = shiftErrors(places, model);
  return errors === null
    ? Number.POSITIVE_INFINITY
    : errors.reduce((sum, error) => sum + 2 * Math.log(error), 0);
}

/** Low and high sides of the first watched factor in turn, so that neighbours are fresh set-ups. */
function inTurn(places: readonly CheckPlace[], { index }: WatchedFactor): CheckPlace[] {
  const sorted = [...places].sort((a, b) => a.settings[index]! - b.settings[index]!);
  const half = Math.ceil(sorted.length / 2);
  const low = sorted.slice(0, half);
  const high = sorted.slice(half);
  return low.flatMap((place, i) => (high[i] ? [place, high[i]!] : [place]));
}
